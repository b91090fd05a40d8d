#include "daemon/bench/owner_claim.h"

#include <utility>

namespace endgate::daemon {

void OwnerClaim::opened(Steady now) {
  ours_ = word_ == 0;
  next_ = opened_ = now;
  asked_ = false;
}

// A write that was not answered may have reached the device all the same.
void OwnerClaim::closed(Steady now) {
  if (std::exchange(writing_, false)) written_ = now;
  ours_ = asked_ = false;
  next_.reset();
}

OwnerClaim::Step OwnerClaim::on_read(std::optional<std::uint16_t> word, Steady asked_at,
                                     Steady now) {
  if (!next_ || asked_at < opened_) return Step::none;
  asked_ = false;
  if (!word) {
    next_ = now + (ours_ ? kWatch : kAgain);
    return Step::none;
  }
  holder_.reset();
  if (*word == word_) return read_ours(asked_at, now);
  const bool was_ours = ours_;
  ours_ = false;
  next_ = now + kAgain;
  if (*word != 0) holder_ = *word;
  if (was_ours) return Step::lost;
  return *word == 0 ? read_free() : Step::none;
}

// Nobody is asked until the write is answered.
OwnerClaim::Step OwnerClaim::read_free() {
  writing_ = true;
  next_ = Steady::max();
  return Step::write;
}

// A question that was on its way when we wrote says nothing about how long the word has stood.
OwnerClaim::Step OwnerClaim::read_ours(Steady asked_at, Steady now) {
  if (!ours_ && asked_at < written_ + stands_after_) {
    next_ = written_ + stands_after_;
    return Step::none;
  }
  seen_ = asked_at;
  next_ = now + kWatch;
  if (ours_) return Step::none;
  ours_ = true;
  return Step::taken;
}

void OwnerClaim::on_written(Steady now) {
  written_ = now;
  if (std::exchange(writing_, false)) next_ = now + stands_after_;
}

void OwnerClaim::on_refused(Steady now) {
  if (std::exchange(writing_, false)) next_ = now + kAgain;
}

}  // namespace endgate::daemon
