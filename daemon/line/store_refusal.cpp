#include "daemon/line/store_refusal.h"

namespace endgate::daemon {

CommandRefusal store_refusal(const schema::StoreFault& fault) {
  return {503, "S-120", std::string("Storage failed: ") + fault.what() + " Nothing was kept."};
}

CommandRefusal store_behind() {
  return {503, "S-121", "The store is behind. Nothing was kept. Try again shortly."};
}

}  // namespace endgate::daemon
