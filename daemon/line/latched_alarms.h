// What holds on a bench until a person has seen to it, over new stations and new services.

#pragma once

namespace endgate::daemon {

struct LatchedAlarms {
  bool motor = false;     // it did not obey
  bool pressure = false;  // the unit was not seen vented; ends by itself when it is
};

}  // namespace endgate::daemon
