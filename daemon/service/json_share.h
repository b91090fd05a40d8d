// A share with its interval as JSON.

#pragma once

#include "daemon/queries/yield_told.h"
#include "daemon/service/json_value.h"

namespace endgate::daemon {

// `low` and `high`: 95 %.
inline Json share_json(const Share& share) {
  const statistics::Interval interval = share.interval();
  return {{"count", share.count}, {"of", share.of}, {"low", interval.low}, {"high", interval.high}};
}

}  // namespace endgate::daemon
