// Commands as bodies of requests: read them strictly, answer what came of them.

#pragma once

#include <exception>
#include <functional>
#include <string>
#include <utility>
#include <variant>

#include "daemon/line/application.h"
#include "daemon/log/log.h"
#include "daemon/service/json_read.h"
#include "daemon/service/json_write.h"
#include "daemon/service/message.h"

namespace endgate::daemon {

inline Response json(std::string body, int status = 200) {
  Response response;
  response.status = status;
  response.body = std::move(body);
  return response;
}

inline Response no_such_bench() {
  return refusal(404, "U-205",
                 "There is no bench of that name here. The list is at /api/v1/benches.");
}

inline bool known_bench(Application& application, const std::string& bench) {
  return application.line(bench).has_value();
}

inline std::string get(const Fields& fields, const std::string& key) {
  const auto found = fields.find(key);
  return found == fields.end() ? std::string() : found->second;
}

// A body that is not wanted may be empty.
inline std::variant<Fields, BadBody> fields_of(const Request& request, const CommandShape& shape) {
  if (request.body.empty() && shape.needed.empty()) return Fields{};
  return read_fields(request.body, shape);
}

// Reads the body and calls `act`; answers 400 itself.
template <class Act>
void with_fields(const Request& request, const Reply& reply, const CommandShape& shape,
                 const Act& act) {
  const auto read = fields_of(request, shape);
  if (const auto* bad = std::get_if<BadBody>(&read))
    return reply(refusal(400, "U-206", bad->sentence + " Nothing was done."));
  act(std::get<Fields>(read));
}

// The answer of a command comes on the thread of the benches: one that cannot be written must not
// become an exception there.
template <class Answer>
Response written(const Answer& answer, std::string (*write)(const Answer&)) {
  try {
    return json(write(answer));
  } catch (const std::exception& fault) {
    log_error(std::string("the answer to a command could not be written: ") + fault.what());
    return refusal(500, "N-505",
                   "It was done, but the answer could not be written. Reload the page to see how "
                   "the bench stands.");
  }
}

template <class Answer>
std::function<void(Answer)> answering(const Reply& reply, std::string (*write)(const Answer&)) {
  return [reply, write](const Answer& answer) {
    if (const auto* no = std::get_if<CommandRefusal>(&answer))
      return reply(refusal(no->http_status, no->code, no->sentence));
    reply(written(answer, write));
  };
}

inline std::string accepted_of(const Application::Entered& answer) {
  return accepted_json(std::get<Application::Accepted>(answer).id);
}

}  // namespace endgate::daemon
