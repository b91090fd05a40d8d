// Runs a question to the store on the threads for questions, until a deadline, and answers its
// faults: a store that cannot be read is said in words, and nothing else of it gets out.

#pragma once

#include <chrono>
#include <exception>
#include <string>

#include "daemon/line/application.h"
#include "daemon/log/log.h"
#include "daemon/service/fault_answer.h"
#include "daemon/service/message.h"
#include "schema/store.h"

namespace endgate::daemon {

[[nodiscard]] inline Response question_fault(const schema::StoreFault& fault) {
  if (fault.kind() == schema::StoreFault::Kind::out_of_time)
    return refusal(503, "S-112",
                   "This question was given up after " + std::to_string(kLongestQuestion.count()) +
                       " s, so that others are answered. Nothing was changed. Ask about fewer "
                       "tests: a later start, one bench or one batch. The commands of endgate "
                       "answer it without this limit.");
  log_error(std::string("the store cannot be read: ") + fault.what());
  return refusal(503, "S-110",
                 "The store cannot be read just now. Nothing was changed. "
                 "Ask again, then tell plant IT.");
}

// `work()` on the threads for questions; it replies itself unless it throws.
template <class Work>
void on_question_thread(Application& application, const Reply& reply, Work work) {
  const bool queued = application.on_pool([reply, work = std::move(work)] {
    try {
      work();
    } catch (const schema::StoreFault& fault) {
      reply(question_fault(fault));
    } catch (const std::exception& fault) {
      reply(fault_answer("a question to the store", fault.what()));
    }
  });
  if (!queued)
    reply(refusal(503, "S-111",
                  "Too many questions wait for an answer. Nothing was changed. "
                  "Ask again in a minute."));
}

// `make(reader)` returns the Response.  The time a question waits for its thread counts: later
// nobody is there for the answer.
template <class Make>
void ask_store(Application& application, const Reply& reply, Make make) {
  const auto deadline = std::chrono::steady_clock::now() + application.longest_question();
  on_question_thread(
      application, reply,
      [folder = application.store_folder(), deadline, reply, make = std::move(make)] {
        const schema::StoreReader reader(folder, deadline);
        reader.hold_to_deadline();  // it may have waited for its thread until then
        reply(make(reader));
      });
}

}  // namespace endgate::daemon
