#include "daemon/line/order_motors_off.h"

#include <algorithm>
#include <boost/asio/io_context.hpp>
#include <memory>

#include "daemon/bench/bench.h"
#include "daemon/definitions/load.h"

namespace endgate::daemon {
namespace {

using Benches = std::vector<std::pair<std::string, std::unique_ptr<Bench>>>;

Benches connected_benches(boost::asio::io_context& io, const std::filesystem::path& folder) {
  Benches benches;
  for (const DefinitionFile& file : read_configuration(folder).files) {
    if (file.kind != DefinitionKind::bench) continue;
    const auto loaded = load_bench(file.text, file.path.generic_string());
    const auto* definition = std::get_if<BenchDefinition>(&loaded);
    if (definition == nullptr) continue;
    std::vector<analysis::ChannelCalibration> nominal(definition->channels.size());
    benches.emplace_back(definition->id, std::make_unique<Bench>(
                                             io, *definition, std::move(nominal), BenchEvents{}));
    benches.back().second->connect();
  }
  return benches;
}

template <class Condition>
void run_until(boost::asio::io_context& io, std::chrono::milliseconds at_most,
               Condition condition) {
  const auto until = std::chrono::steady_clock::now() + at_most;
  while (!condition() && std::chrono::steady_clock::now() < until)
    io.run_one_for(std::chrono::milliseconds(10));
}

std::string listed(const std::vector<std::string>& ids) {
  std::string text;
  for (const std::string& id : ids) text += (text.empty() ? "" : ", ") + id;
  return text;
}

}  // namespace

MotorsOff order_motors_off(const std::filesystem::path& config_folder,
                           std::chrono::milliseconds at_most) {
  boost::asio::io_context io;
  const Benches benches = connected_benches(io, config_folder);
  run_until(io, at_most, [&] {
    return std::ranges::all_of(benches,
                               [](const auto& each) { return each.second->motor_is_off(); });
  });
  MotorsOff motors;
  for (const auto& [id, bench] : benches)
    (bench->motor_is_off() ? motors.read_back : motors.not_read_back).push_back(id);
  std::size_t down = 0;
  for (const auto& [id, bench] : benches) bench->shut_down([&] { ++down; });
  run_until(io, at_most, [&] { return down == benches.size(); });
  return motors;
}

std::string text_of(const MotorsOff& motors) {
  std::string text;
  if (!motors.read_back.empty())
    text = "Motor off was read back from bench " + listed(motors.read_back) + ".";
  if (!motors.not_read_back.empty())
    text += (text.empty() ? "" : " ") + std::string("Motor state unknown at bench ") +
            listed(motors.not_read_back) + ": press the stop button there.";
  return text.empty() ? "No bench file can be read: press the stop button of every bench." : text;
}

}  // namespace endgate::daemon
