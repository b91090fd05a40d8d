// What may the outside ask of the running service?  The one seam between HTTP and the benches.
//
// Threading: every member may be called from any thread; answers come by callback on the service's
// executor given at construction, or are returned from a snapshot under a short lock.

#pragma once

#include <chrono>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "daemon/definitions/upkeep_definition.h"
#include "daemon/line/answer_times.h"
#include "daemon/line/line_state.h"

namespace endgate::schema {
class StoreWriter;
}

namespace endgate::daemon {

struct CommandRefusal {
  int http_status = 409;
  std::string code;      // "U-101"
  std::string sentence;  // what happened, what was kept, what to do
};
using CommandAnswer = std::variant<LineState, CommandRefusal>;

struct ScanCommand {
  std::string bench, text, batch, operator_name;
};
struct StartCommand {
  std::string bench;
  std::string reason;   // for a retest: one of LineState::reasons_to_choose
  std::string trial{};  // id of an accepted lab trial to run instead of the model's own sequence
};

class Application {
 public:
  virtual ~Application() = default;

  [[nodiscard]] virtual std::vector<std::string> benches() const = 0;
  [[nodiscard]] virtual std::optional<LineState> line(const std::string& bench) const = 0;

  virtual void scan(ScanCommand command, std::function<void(CommandAnswer)> done) = 0;
  virtual void start(StartCommand command, std::function<void(CommandAnswer)> done) = 0;
  // Never refused, never queued behind anything else.
  virtual void stop(const std::string& bench, const std::string& who) = 0;
  virtual void clear(const std::string& bench, const std::string& who,
                     std::function<void(CommandAnswer)> done) = 0;  // PRESS STOP, OUT OF USE
  // The bench is left claimed by a service that is gone: who says so, and why, is kept first.
  struct TakeCommand {
    std::string bench, by, why;
  };
  struct AcceptCommand {
    std::string file_name, text, by, why;
    std::string second_by{};  // needed when a limit set changes
  };
  struct Accepted {
    std::string id;  // "limits P1-60-12 (position 33)"
  };
  virtual void accept(AcceptCommand command,
                      std::function<void(std::variant<Accepted, CommandRefusal>)> done) = 0;

  // A fact that a person enters: `make` runs on the record thread, keeps what it has to keep and
  // says its name, or why not.  StoreFaults are answered by the service.
  using Entered = std::variant<Accepted, CommandRefusal>;
  using MakeFact = std::function<Entered(schema::StoreWriter&)>;
  virtual void take_bench(TakeCommand command, std::function<void(Entered)> done) = 0;
  virtual void enter(MakeFact make, std::function<void(Entered)> done) = 0;

  // Called on any thread whenever a LineState changed; the newest state is what counts.
  using Listener = std::function<void(const LineState&)>;
  virtual std::uint64_t subscribe(Listener listener) = 0;
  virtual void unsubscribe(std::uint64_t id) = 0;

  // Runs `work` on the threads for questions.  False: too many wait already, and it will not run.
  [[nodiscard]] virtual bool on_pool(std::function<void()> work) = 0;
  // From asking to the answer, waiting included; then it is given up.
  [[nodiscard]] virtual std::chrono::milliseconds longest_question() const {
    return kLongestQuestion;
  }
  [[nodiscard]] virtual std::string store_folder() const = 0;
  [[nodiscard]] virtual UpkeepPolicy upkeep() const { return {}; }
  // Minutes after midnight, plant time, ascending; empty: when shifts begin is not stated.
  [[nodiscard]] virtual std::vector<int> shift_begins_min() const { return {}; }

  struct Health {
    bool live = true, ready = true;
    std::vector<std::string> reasons;
    std::int64_t last_position = 0;  // of the newest kept fact
  };
  // From memory: it is asked on the thread that hears Stop.
  [[nodiscard]] virtual Health health() const = 0;
};

}  // namespace endgate::daemon
