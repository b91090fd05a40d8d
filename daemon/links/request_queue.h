// What is to be asked next on a link?
//
// Order: writes marked at_once, other writes, reads; each in turn.  The spans of one read are
// separate transactions, so that an urgent write goes between two of them.
//
// A write at_once ends what waits in turn for the same register: motor on, queued before motor off,
// must not go out behind it.

#pragma once

#include <algorithm>
#include <deque>
#include <iterator>
#include <optional>

#include "daemon/links/link.h"

namespace endgate::daemon {

struct PendingRead {
  std::vector<RegisterSpan> spans;
  ReadAnswer answer;  // grows span by span
  Link::ReadDone done;
  [[nodiscard]] const RegisterSpan& next_span() const { return spans[answer.spans.size()]; }
  [[nodiscard]] bool is_complete() const { return answer.spans.size() == spans.size(); }
};

struct PendingWrite {
  RegisterWrite write;
  Link::WriteDone done;
};

// Function 22 sets some bits of a register: another one of them is another target.
[[nodiscard]] inline bool same_target(const RegisterWrite& a, const RegisterWrite& b) {
  constexpr int kMaskWrite = 22;
  return a.unit == b.unit && a.address == b.address && a.function == b.function &&
         (a.function != kMaskWrite || a.values.front() == b.values.front());
}

class RequestQueue {
 public:
  void push(PendingRead read) { reads_.push_back(std::move(read)); }
  void push(PendingWrite write, Link::Urgency urgency) {
    (urgency == Link::Urgency::at_once ? urgent_ : writes_).push_back(std::move(write));
  }
  // Out of the queue: what an urgent `write` to the same target must not be followed by.
  [[nodiscard]] std::vector<PendingWrite> take_overtaken(const RegisterWrite& write) {
    const auto stays = [&](const PendingWrite& each) { return !same_target(each.write, write); };
    const auto from = std::stable_partition(writes_.begin(), writes_.end(), stays);
    std::vector<PendingWrite> overtaken(std::make_move_iterator(from),
                                        std::make_move_iterator(writes_.end()));
    writes_.erase(from, writes_.end());
    return overtaken;
  }
  [[nodiscard]] std::optional<PendingWrite> take_write() {
    std::deque<PendingWrite>& from = urgent_.empty() ? writes_ : urgent_;
    if (from.empty()) return std::nullopt;
    PendingWrite write = std::move(from.front());
    from.pop_front();
    return write;
  }
  [[nodiscard]] bool has_read() const { return !reads_.empty(); }
  [[nodiscard]] PendingRead& front_read() { return reads_.front(); }
  [[nodiscard]] PendingRead take_read() {
    PendingRead read = std::move(reads_.front());
    reads_.pop_front();
    return read;
  }

 private:
  std::deque<PendingWrite> urgent_, writes_;
  std::deque<PendingRead> reads_;
};

}  // namespace endgate::daemon
