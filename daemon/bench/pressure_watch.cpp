#include "daemon/bench/pressure_watch.h"

#include "daemon/bench/step.h"

namespace endgate::daemon {

void PressureWatch::test_is_over() {
  cleared_ = false;
  read_since_.reset();
  latch();
}

void PressureWatch::latch() { stands_ = has_role(bench_, analysis::Role::discharge_pressure); }

void PressureWatch::clear() {
  stands_ = false;
  cleared_ = true;
}

void PressureWatch::on_frame(const Frame& frame) {
  if (is_vented(bench_, frame)) {
    stands_ = cleared_ = false;
    read_since_.reset();
    return;
  }
  if (cleared_ || !frame.value(analysis::Role::discharge_pressure)) return;
  if (!read_since_) read_since_ = frame.arrived;
  if (frame.arrived - *read_since_ > kVentsWithin) stands_ = true;
}

}  // namespace endgate::daemon
