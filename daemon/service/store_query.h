// Runs a question to the store on the pool and answers its faults: a store that cannot be read is
// said in words, and nothing else of it gets out.

#pragma once

#include <exception>
#include <string>

#include "daemon/line/application.h"
#include "daemon/log/log.h"
#include "daemon/service/fault_answer.h"
#include "daemon/service/message.h"
#include "schema/store.h"

namespace endgate::daemon {

// `make(reader)` returns the Response.
template <class Make>
void ask_store(Application& application, const Reply& reply, Make make) {
  application.on_pool([folder = application.store_folder(), reply, make = std::move(make)] {
    try {
      const schema::StoreReader reader(folder);
      reply(make(reader));
    } catch (const schema::StoreFault& fault) {
      log_error(std::string("the store cannot be read: ") + fault.what());
      reply(refusal(503, "S-110",
                    "The store cannot be read just now. Nothing was changed. "
                    "Ask again, then tell plant IT."));
    } catch (const std::exception& fault) {
      reply(fault_answer("a question to the store", fault.what()));
    }
  });
}

}  // namespace endgate::daemon
