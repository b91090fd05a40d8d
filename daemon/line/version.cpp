#include "daemon/line/version.h"

namespace endgate::daemon {

std::string software_version() { return std::string("endgate ") + ENDGATE_VERSION; }

}  // namespace endgate::daemon
