// What did the bench say during a kept test, as a file that a bench can play again?
//
// The form of daemon/links/recorded_rows.h: one column per channel, in SI as scale and offset of
// the bench file make it, before calibration; no waveforms.  What was commanded is not kept with
// the samples, but the steps say it: set_motor_relay, set_back_pressure (Pa gauge), set_vent, set_seal_vent.

#pragma once

#include <ostream>

#include "schema/facts.h"
#include "schema/trace.h"

namespace endgate::daemon {

// StoreFault::damaged or ::wrong_version when context or marks cannot be read.
void write_recorded_run(const schema::Record& record, const schema::Trace& trace,
                        std::ostream& out);

}  // namespace endgate::daemon
