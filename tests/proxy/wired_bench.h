// A whole bench and its evaluation on the simulated plant, over a wire of the test's choice, with a
// fault proxy in that wire.
//
//   modbus_tcp   everything through the proxy
//   modbus_rtu   everything through a serial line behind the proxy
//   text         what is measured while the unit runs, and the motor relay, are an instrument's
//                queries and commands through the proxy; valves, interlocks and clock are not
//   stream       the supply current comes as blocks of samples through the proxy; the rest does not
//
// Time runs faster than the wall, as fast as a wire allows.

#pragma once

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>

#include "analysis/evaluate.h"
#include "daemon/bench/bench.h"
#include "daemon/definitions/context_of.h"
#include "daemon/definitions/load.h"
#include "fixtures/bench/physics/population.h"
#include "fixtures/proxy/fault_proxy.h"
#include "fixtures/proxy/serial_end.h"
#include "tests/simbench_server/loopback_bench.h"
#include "tests/support/temporary_folder.h"

namespace endgate::tests {

using namespace daemon;
using namespace std::chrono_literals;

enum class Wire { modbus_tcp, modbus_rtu, text, stream };

inline const char* name_of(Wire wire) {
  constexpr const char* kNames[] = {"ModbusTcp", "ModbusRtu", "Text", "Stream"};
  return kNames[static_cast<std::size_t>(wire)];
}

inline void PrintTo(Wire wire, std::ostream* out) { *out << name_of(wire); }

inline std::string scenario_text(const std::string& file) {
  std::ifstream in(std::filesystem::path(ENDGATE_SOURCE_DIR) / "fixtures/scenario" / file);
  return {std::istreambuf_iterator<char>(in), {}};
}

template <class T>
T loaded_from(const Loaded<T>& loaded) {
  if (const auto* errors = std::get_if<std::vector<DefinitionError>>(&loaded))
    ADD_FAILURE() << errors->front().text();
  return std::get<T>(loaded);
}

// The bench of the invented plant, rewired.
BenchDefinition wired(BenchDefinition bench, Wire wire);
constexpr double rate_of(Wire wire) { return wire == Wire::modbus_rtu ? 5 : 10; }

// Well inside every limit.
inline std::string sound_unit() { return simbench::make_serial("2648", 8); }

class WiredBench : public ::testing::Test {
 protected:
  explicit WiredBench(Wire wire);
  ~WiredBench() override;

  // Where the daemon meets the simulated bench; `definition` may be changed before `connect`.
  const Wire wire_;
  simbench::ServedBench device_;
  boost::asio::io_context io_;
  faultproxy::FaultProxy proxy_;
  test::TemporaryFolder folder_;
  faultproxy::SerialEnd line_;
  BenchDefinition definition_;
  ModelDefinition model_;
  std::optional<FinishedTest> finished_;
  std::vector<std::string> alarms_;
  std::unique_ptr<Bench> bench_;

  void connect();
  void start_and_run_to(const std::string& step);  // clamps a sound unit
  // Where the wire is sound: a busy machine may answer late, or hold the simulated bench up so that its
  // readings stand still for a moment.
  void be_patient();
  void leave_out_leaks();  // they take the most time
  void until_finished();
  void until_ready();
  void inject(const std::string& fault);  // into the wire
  void hand(const std::string& command);  // at the bench
  // The relay as the device itself has it, past the wire.
  [[nodiscard]] bool motor_is_on();
  [[nodiscard]] analysis::Evaluation evaluated() const;

  template <class Condition>
  void until(Condition condition) {
    const auto give_up = std::chrono::steady_clock::now() + 60s;
    while (!condition()) {
      ASSERT_LT(std::chrono::steady_clock::now(), give_up) << bench_->live().condition_text;
      io_.run_one_for(5ms);
    }
  }

 private:
  [[nodiscard]] std::uint16_t far_port() const;
};

}  // namespace endgate::tests
