#include "daemon/queries/shifts.h"

#include <algorithm>
#include <ctime>

namespace endgate::daemon {
namespace {

constexpr std::int64_t kMsPerSecond = 1000;
constexpr int kMinutesPerHour = 60;

int minute_of_day(std::int64_t utc_ms) {
  const std::time_t seconds = utc_ms / kMsPerSecond;
  std::tm local{};
  localtime_r(&seconds, &local);
  return local.tm_hour * kMinutesPerHour + local.tm_min;
}

std::string clock_words(int minute) {
  const auto two = [](int number) { return (number < 10 ? "0" : "") + std::to_string(number); };
  return two(minute / kMinutesPerHour) + ":" + two(minute % kMinutesPerHour);
}

}  // namespace

std::string shift_at(const ShiftPlan& plan, std::int64_t utc_ms) {
  if (!plan.stated()) return "";
  const std::vector<int>& begins = plan.begins_min;
  const auto next = std::ranges::upper_bound(begins, minute_of_day(utc_ms));
  const int from = next == begins.begin() ? begins.back() : *(next - 1);
  const int to = next == begins.end() ? begins.front() : *next;
  return clock_words(from) + " to " + clock_words(to);
}

}  // namespace endgate::daemon
