#include "daemon/line/off_keeper.h"

#include <algorithm>
#include <system_error>

#include "daemon/bench/bench.h"
#include "daemon/definitions/load.h"
#include "daemon/line/stray.h"
#include "daemon/log/log.h"

namespace endgate::daemon {
namespace {

constexpr std::chrono::seconds kBenchesGivenBack{3};  // each gives up after two

void tell_stray(const std::string& what) { log_error("Keeping motors off: " + what); }

// Guarded like the thread that takes over: whoever calls is about to say why the service ends.
template <class Condition>
void run_until(boost::asio::io_context& io, std::chrono::milliseconds at_most,
               Condition condition) {
  const auto until = std::chrono::steady_clock::now() + at_most;
  while (!condition() && !io.stopped() && std::chrono::steady_clock::now() < until)
    run_guarded(&tell_stray, [&io] { io.run_one_for(std::chrono::milliseconds(10)); });
}

std::string listed(const std::vector<std::string>& parts, const char* between = ", ") {
  std::string text;
  for (const std::string& part : parts) text += (text.empty() ? "" : between) + part;
  return text;
}

}  // namespace

OffKeeper::OffKeeper(std::filesystem::path config_folder)
    : config_folder_(std::move(config_folder)) {}

OffKeeper::~OffKeeper() { hand_over(); }

MotorsOff OffKeeper::keep_off(std::chrono::milliseconds at_most) {
  rest();
  if (benches_.empty()) connect();
  run_until(io_, at_most, [this] { return motors().not_read_back.empty(); });
  MotorsOff now = motors();
  turn();
  return now;
}

void OffKeeper::hand_over() {
  rest();
  std::size_t back = 0;
  for (const auto& [id, bench] : benches_) bench->shut_down([&back] { ++back; });
  run_until(io_, kBenchesGivenBack, [&] { return back == benches_.size(); });
  benches_.clear();
}

void OffKeeper::connect() {
  io_.restart();
  for (const DefinitionFile& file : read_configuration(config_folder_).files) {
    if (file.kind != DefinitionKind::bench) continue;
    const auto loaded = load_bench(file.text, file.path.generic_string());
    const auto* definition = std::get_if<BenchDefinition>(&loaded);
    if (definition == nullptr) continue;
    std::vector<analysis::ChannelCalibration> nominal(definition->channels.size());
    benches_.emplace_back(definition->id, std::make_unique<Bench>(
                                              io_, *definition, std::move(nominal), BenchEvents{}));
    benches_.back().second->connect();
  }
}

// A machine without room for a thread ends the start anyway, and whoever ends it asks again.
void OffKeeper::turn() {
  if (benches_.empty()) return;
  try {
    thread_ = std::thread([this] { run_to_end(io_, &tell_stray); });
  } catch (const std::system_error& none) {
    log_error(std::string("Motor off is not repeated: ") + none.what());
  }
}

void OffKeeper::rest() {
  if (!thread_.joinable()) return;
  io_.stop();
  thread_.join();
  io_.restart();
}

MotorsOff OffKeeper::motors() const {
  MotorsOff motors;
  for (const auto& [id, bench] : benches_) {
    const bool others = bench->is_held_by_other();
    auto& list = others                  ? motors.held_by_other
                 : bench->motor_is_off() ? motors.read_back
                                         : motors.not_read_back;
    list.push_back(id);
  }
  return motors;
}

std::string text_of(const MotorsOff& motors) {
  std::vector<std::string> sentences;
  if (!motors.read_back.empty())
    sentences.push_back("Motor off was read back from bench " + listed(motors.read_back) + ".");
  if (!motors.not_read_back.empty())
    sentences.push_back("Motor state unknown at bench " + listed(motors.not_read_back) +
                        ": press the stop button there.");
  if (!motors.held_by_other.empty())
    sentences.push_back("Another service runs bench " + listed(motors.held_by_other) +
                        " and its motor.");
  if (sentences.empty()) return "No bench file can be read: press the stop button of every bench.";
  return listed(sentences, " ");
}

}  // namespace endgate::daemon
