#include "daemon/bench/advised.h"

#include <cstdio>

namespace endgate::daemon {

std::string advised(const analysis::Advice& advice) {
  char text[80];
  std::snprintf(text, sizeof text, "%s, seen at %.3f s", word_of(advice.kind), advice.look_s);
  return text;
}

}  // namespace endgate::daemon
