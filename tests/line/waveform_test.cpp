// A test on a bench that samples the motor's current fast, with and without a tacho, over real
// sockets: bursts in the trace, metrics in the record, replay bit for bit.

#include <gmock/gmock.h>

#include "daemon/mapping/replay.h"
#include "daemon/mapping/trace_of.h"
#include "fixtures/bench/physics/truth.h"
#include "tests/line/line_plant.h"

namespace endgate::test {
namespace {

using testing::HasSubstr;

simbench::InstrumentsOptions with_fast_probe() {
  simbench::InstrumentsOptions options = in_a_room();
  options.waveform_hz = 20000;
  return options;
}

std::string addition(const std::string& name) {
  return text_in(fs::path(ENDGATE_SOURCE_DIR) / "fixtures/examples/waveform" / name);
}

std::string replaced(std::string text, const std::string& from, const std::string& to) {
  const std::size_t at = text.find(from);
  EXPECT_NE(at, std::string::npos) << from;
  return at == std::string::npos ? text : text.replace(at, from.size(), to);
}

// Erases the table that holds `line`, from its header to the next one.
std::string without_table(std::string text, const std::string& header, const std::string& line) {
  const std::size_t at = text.find(line);
  EXPECT_NE(at, std::string::npos) << line;
  const std::size_t begin = text.rfind(header, at);
  const std::size_t next = text.find("\n[", at);
  const std::size_t end = next == std::string::npos ? text.size() : next + 1;
  return text.erase(begin, end - begin);
}

class WaveformPlant : public LinePlant {
 protected:
  WaveformPlant() : LinePlant(with_fast_probe()) {}

  void edit_config() override {
    put_text(bench_file(),
             text_in(bench_file()) + replaced(addition("bench.toml"), "port = 15022",
                                              "port = " + std::to_string(bench_.waveform_port())));
    const std::string model =
        text_in(model_file()) +
        replaced(addition("model.toml"), "commutations_per_rev = 12", "commutations_per_rev = 16");
    put_text(model_file(),
             replaced(listened_to(model), "\"seal_leak\",\n",
                      "\"seal_leak\", \"ripple_speed_400\", \"ripple_lock_400\",\n"
                      "\"cylinder_imbalance_400\", \"commutator_irregularity_400\",\n"));
  }

  // Nothing is listened to while the pressure rises: a hold at 400 kPa in its place.
  static std::string listened_to(const std::string& model) {
    return replaced(replaced(model, "begins_with = \"ramp\"", "begins_with = \"hold_400\""),
                    "id = \"ramp\"\nkind = \"ramp\"\nname = \"Ramp\"\n"
                    "target_gauge_pa = 600000\nreceiver = \"small\"\nrise_pa_s = 160000\n",
                    "id = \"hold_400\"\nkind = \"hold\"\nname = \"400 kPa\"\nhold_min_s = 4\n"
                    "target_gauge_pa = 400000\nreceiver = \"small\"\n");
  }

  [[nodiscard]] fs::path bench_file() const { return config() / "benches/north.toml"; }
  [[nodiscard]] fs::path model_file() const { return config() / "models/P2-120-24.toml"; }

  // A unit of the twin model, from scan to kept record.  A busy machine holds the simulated bench
  // up now and then, its readings stand still and the test is void: then the next unit is tested.
  schema::StoredRecord tested(int number) {
    for (int tries = 1;; ++tries, ++number) {
      serial_ = simbench::make_serial("2648", 3000 + number);
      begin(serial_);
      const daemon::LineState shown = wait_for_verdict();
      const schema::StoreReader store(data());
      auto kept = store.record_at(shown.result.value().position);
      trace_ = store.trace_of(kept.value());
      if (tries == 4 || !was_held_up(kept->record)) return *kept;
    }
  }
  static bool was_held_up(const schema::Record& record) {
    return std::ranges::any_of(record.metrics, [](const schema::MetricValue& metric) {
      return metric.missing_reason.find("was stuck") != std::string::npos;
    });
  }

  static double value(const schema::Record& record, const std::string& id) {
    for (const schema::MetricValue& metric : record.metrics) {
      if (metric.id != id) continue;
      EXPECT_TRUE(metric.value) << id << ": " << metric.missing_reason;
      return metric.value.value_or(-1);
    }
    ADD_FAILURE() << id;
    return -1;
  }

  [[nodiscard]] double true_speed_600() const {
    return simbench::truth_of(simbench::Population(1).unit(serial_)).metrics.at("speed_600");
  }

  std::string serial_;
  std::optional<schema::Trace> trace_;
};

TEST_F(WaveformPlant, AUnitIsJudgedWithItsCurrentListenedTo) {
  const schema::StoredRecord kept = tested(1);
  EXPECT_TRUE(kept.record.break_off.empty()) << kept.record.break_off;
  EXPECT_GT(value(kept.record, "ripple_lock_400"), 0.99);
  const double ripple = value(kept.record, "ripple_speed_400");
  const double tacho_600 = value(kept.record, "speed_600");
  EXPECT_NEAR(tacho_600, true_speed_600(), 0.005 * tacho_600);
  EXPECT_GT(ripple, tacho_600);  // less load
  EXPECT_LT(ripple, 1.2 * tacho_600);
  EXPECT_LT(value(kept.record, "cylinder_imbalance_400"), 0.2);
  EXPECT_LT(value(kept.record, "commutator_irregularity_400"), 0.5);

  const analysis::RawTrace trace = daemon::raw_trace_of(trace_.value());
  const auto waveform =
      std::ranges::find(trace.channels, "motor_current", &analysis::RawChannel::id);
  ASSERT_NE(waveform, trace.channels.end());
  // One or two bursts of 0.5 s in each of four holds: one that is decided early has room for one.
  EXPECT_GE(waveform->raw.size(), 4U * 10000U);
  EXPECT_LE(waveform->raw.size(), 2U * 4U * 10000U);
  const daemon::ReplayResult again = daemon::replay(kept.record, *trace_);
  EXPECT_TRUE(again.bit_for_bit) << testing::PrintToString(again.not_equal);
}

class PlantWithoutTacho : public WaveformPlant {
 protected:
  void edit_config() override {
    WaveformPlant::edit_config();
    put_text(bench_file(), without_table(text_in(bench_file()), "[[channel]]", "role = \"speed\""));
    std::string model = text_in(model_file());
    for (const char* id : {"id = \"speed_min\"", "id = \"speed_max\""})
      model = without_table(model, "[[over_limit]]", id);
    model = replaced(
        model, "confirm_role = \"speed\"\nconfirm_unit = \"rev/s\"\nconfirm_below_si = 20\n", "");
    put_text(model_file(), model);
  }
};

TEST_F(PlantWithoutTacho, TheCurrentTakesItsPlaceAndTheRecordSaysSo) {
  const schema::StoredRecord kept = tested(21);
  EXPECT_TRUE(kept.record.break_off.empty()) << kept.record.break_off;
  EXPECT_NEAR(value(kept.record, "speed_600"), true_speed_600(), 0.005 * true_speed_600());
  EXPECT_GT(value(kept.record, "fad_400"), 1e-4);
  for (const schema::PointAsReduced& point : kept.record.points)
    EXPECT_THAT(point.note, HasSubstr("speed from the current"));
  const daemon::ReplayResult again = daemon::replay(kept.record, *trace_);
  EXPECT_TRUE(again.bit_for_bit) << testing::PrintToString(again.not_equal);
}

}  // namespace
}  // namespace endgate::test
