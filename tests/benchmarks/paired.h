// How is something timed on a machine that others use too?  Subject and yardstick in turn, in one
// run; the ratio is told with its quartiles.

#pragma once

#include <algorithm>
#include <atomic>
#include <chrono>
#include <iostream>
#include <string>
#include <vector>

namespace endgate::benchmark {

using Clock = std::chrono::steady_clock;

template <class Work>
double seconds_of(Work work) {
  const auto begin = Clock::now();
  work();
  return std::chrono::duration<double>(Clock::now() - begin).count();
}

struct Quartiles {
  double low, middle, high;
};

inline double at_share(std::vector<double> values, double share) {
  std::ranges::sort(values);
  return values[static_cast<std::size_t>(share * static_cast<double>(values.size() - 1))];
}
inline Quartiles quartiles_of(const std::vector<double>& values) {
  return {at_share(values, 0.25), at_share(values, 0.5), at_share(values, 0.75)};
}

inline void tell(const std::string& what, const Quartiles& ratio, const std::string& goal) {
  std::cout << what << ": " << ratio.middle << " [" << ratio.low << " .. " << ratio.high
            << "], goal " << goal << std::endl;
}

// The order is swapped each time.
template <class Subject, class Yardstick>
Quartiles paired(int rounds, Subject subject, Yardstick yardstick) {
  std::vector<double> ratios;
  for (int i = 0; i < rounds; ++i) {
    double s = 0, y = 0;
    if (i % 2 == 0) s = seconds_of(subject), y = seconds_of(yardstick);
    if (i % 2 == 1) y = seconds_of(yardstick), s = seconds_of(subject);
    ratios.push_back(s / y);
  }
  return quartiles_of(ratios);
}

inline std::atomic<double> sink{0};  // keeps what was computed

}  // namespace endgate::benchmark
