// A bench whose hardware does not open the relay by itself: somebody else renews its lease for
// ever, so that only an order switches the motor off.

#pragma once

#include <atomic>
#include <chrono>
#include <thread>

#include "tests/simbench_server/loopback_bench.h"

namespace endgate::test {

class LeaseKeeper {
 public:
  explicit LeaseKeeper(std::uint16_t bench_port)
      : link_(bench_port), thread_([this] {
          while (!ends_) {
            link_.write(kLease, 1);
            std::this_thread::sleep_for(std::chrono::milliseconds(50));
          }
        }) {}
  ~LeaseKeeper() {
    ends_ = true;
    thread_.join();
  }
  LeaseKeeper(const LeaseKeeper&) = delete;
  LeaseKeeper& operator=(const LeaseKeeper&) = delete;

 private:
  static constexpr int kLease = 101;
  std::atomic<bool> ends_ = false;
  simbench::Libmodbus link_;
  std::thread thread_;  // last: starts when everything above exists
};

}  // namespace endgate::test
