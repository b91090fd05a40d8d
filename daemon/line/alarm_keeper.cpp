#include "daemon/line/alarm_keeper.h"

#include <algorithm>
#include <boost/asio/post.hpp>
#include <chrono>
#include <utility>

#include "daemon/line/upkeep_policy.h"
#include "daemon/log/log.h"

namespace endgate::daemon {
namespace {

constexpr std::chrono::seconds kPause{5};
constexpr std::size_t kMostWaiting = 256;

void write(schema::StoreWriter& writer, const std::filesystem::path& store,
           const std::string& bench, const AlarmOnBench& alarm) {
  open_alarm(writer, store, bench, alarm.code, alarm.text);
}

void write(schema::StoreWriter& writer, const std::filesystem::path& store,
           const std::string& bench, const ClosedAtBench& put_right) {
  close_alarm(writer, store, bench, put_right);
}

std::pair<std::string, std::string> told(const AlarmOnBench& alarm, const std::string& fault) {
  return {"S-126", alarm.text + " This alarm is not kept yet (" + fault +
                       "); it is tried again. Do not end the service before."};
}

std::pair<std::string, std::string> told(const ClosedAtBench&, const std::string& fault) {
  return {"S-125", "The alarm is cleared here but still open in the store (" + fault +
                       "); it is tried again. If the service ends before, it comes back and is "
                       "closed on the upkeep page."};
}

const std::string& code_of(const std::variant<AlarmOnBench, ClosedAtBench>& change) {
  return std::visit([](const auto& each) -> const std::string& { return each.code; }, change);
}

}  // namespace

AlarmKeeper::AlarmKeeper(boost::asio::io_context& io, RecordThread& records,
                         std::filesystem::path store, std::string bench, Tell tell)
    : io_(io),
      records_(records),
      store_(std::move(store)),
      bench_(std::move(bench)),
      tell_(std::move(tell)),
      pause_(io) {}

void AlarmKeeper::open(const AlarmOnBench& alarm) {
  if (waits_open(alarm)) return;
  const bool holds_the_bench = alarm.code == kAlarmMotor || alarm.code == kAlarmPressure;
  if (waiting_.size() < kMostWaiting || holds_the_bench) return add(alarm);
  log_error("bench " + bench_ + ": too many alarms wait to be kept: " + alarm.text);
}

void AlarmKeeper::close(const ClosedAtBench& put_right) { add(put_right); }

// What is due on a bench is said at every scan: it waits once.
bool AlarmKeeper::waits_open(const AlarmOnBench& alarm) const {
  for (auto each = waiting_.rbegin(); each != waiting_.rend(); ++each) {
    const auto* closed = std::get_if<ClosedAtBench>(&*each);
    if (closed != nullptr && closed->code == alarm.code) return false;
    const auto* open = std::get_if<AlarmOnBench>(&*each);
    if (open != nullptr && *open == alarm) return true;
  }
  return false;
}

void AlarmKeeper::add(Change change) {
  waiting_.push_back(std::move(change));
  if (waiting_.size() == 1) write_first();
}

void AlarmKeeper::try_again() {
  pause_.cancel();
  write_first();
}

void AlarmKeeper::write_first() {
  if (writing_ || waiting_.empty()) return;
  const auto job = [self = shared_from_this(),
                    change = waiting_.front()](schema::StoreWriter& writer) {
    std::optional<schema::StoreFault> fault;
    try {
      std::visit([&](const auto& each) { write(writer, self->store_, self->bench_, each); },
                 change);
    } catch (const schema::StoreFault& caught) {
      fault = caught;
    }
    boost::asio::post(self->io_, [self, fault] { self->written(fault); });
  };
  writing_ = records_.post(job);
  if (writing_) return;
  tell_once("the store is behind");
  pause();
}

void AlarmKeeper::written(const std::optional<schema::StoreFault>& fault) {
  writing_ = false;
  if (fault) {
    const bool may_be_its_own = fault->kind() == schema::StoreFault::Kind::refused;
    tell_once(fault->what());
    if (may_be_its_own && let_others_by()) return write_first();
    return pause();
  }
  refusing_ = false;
  let_by_ = 0;
  waiting_.pop_front();
  write_first();
}

// What the store does not accept, but for another reason than its disk, must hold up no other alarm.
// It goes behind them; one of the same code makes up for it.  False: none is left to be tried.
bool AlarmKeeper::let_others_by() {
  const Change change = std::move(waiting_.front());
  waiting_.pop_front();
  const bool made_up_for = std::ranges::any_of(
      waiting_, [&](const Change& each) { return code_of(each) == code_of(change); });
  if (made_up_for) return true;
  waiting_.push_back(change);
  return ++let_by_ < waiting_.size();
}

void AlarmKeeper::tell_once(const std::string& fault) {
  if (std::exchange(refusing_, true)) return;
  const auto [code, text] =
      std::visit([&](const auto& each) { return told(each, fault); }, waiting_.front());
  tell_(code, text);
}

void AlarmKeeper::pause() {
  let_by_ = 0;
  pause_.expires_after(kPause);
  pause_.async_wait([self = shared_from_this()](const boost::system::error_code& error) {
    if (!error) self->write_first();
  });
}

}  // namespace endgate::daemon
