// Lag, noise, counts, saturation and calibration errors of every sensor against the table.

#include <cmath>
#include <vector>

#include "tests/simbench/instruments_bench.h"

namespace simbench {
namespace {

double si_of(const SensorSpec& spec, std::uint16_t word) {
  const int count = spec.is_signed ? static_cast<std::int16_t>(word) : word;
  return spec.zero_si + spec.count_si * count;
}

double middle_of(const SensorSpec& spec) { return (spec.min_si + spec.max_si) / 2; }

Sensor silent_sensor(const SensorSpec& spec) { return {spec, {}, NoiseSource(1), 0}; }

struct Statistics {
  double mean = 0, sigma = 0, correlation = 0;  // of samples one correlation time apart
};

// Samples a fifth of a correlation time apart.
Statistics statistics_of(const SensorSpec& spec) {
  constexpr int kApart = 5, kSamples = 200'000;
  Sensor sensor(spec, {}, NoiseSource(42));
  std::vector<double> x;
  for (int i = 0; i < kSamples; ++i) {
    sensor.advance(spec.noise_correlation_s / kApart, middle_of(spec));
    x.push_back(si_of(spec, sensor.word()) - middle_of(spec));
  }
  Statistics s;
  for (const double v : x) s.mean += v / kSamples;
  double square = 0, product = 0;
  for (int i = 0; i + kApart < kSamples; ++i) {
    square += (x[i] - s.mean) * (x[i] - s.mean);
    product += (x[i] - s.mean) * (x[i + kApart] - s.mean);
  }
  s.sigma = std::sqrt(square / kSamples);
  s.correlation = product / square;
  return s;
}

class EverySensor : public testing::TestWithParam<std::size_t> {
 protected:
  [[nodiscard]] const SensorSpec& spec() const { return kSensors[GetParam()]; }
};

// 200 000 samples hold some 20 000 independent ones, so sigma is known to 0.5 % and a correlation
// to 0.007; counting adds count^2 / 12 of uncorrelated variance.
TEST_P(EverySensor, HasTheNoiseOfTheTable) {
  const Statistics s = statistics_of(spec());
  const double sigma2 = spec().noise_sigma_si * spec().noise_sigma_si;
  const double counted2 = sigma2 + spec().count_si * spec().count_si / 12;
  EXPECT_NEAR(s.sigma / std::sqrt(counted2), 1, 0.03);
  EXPECT_NEAR(s.correlation, std::exp(-1.0) * sigma2 / counted2, 0.03);
  EXPECT_LT(std::abs(s.mean), 0.05 * std::sqrt(counted2));
}

TEST_P(EverySensor, FollowsAStepWithTheLagOfTheTable) {
  Sensor sensor = silent_sensor(spec());
  const double from = spec().min_si + 0.25 * (spec().max_si - spec().min_si);
  const double to = middle_of(spec());
  sensor.advance(0.001, from);
  const int steps = static_cast<int>(std::lround(spec().lag_s / 0.001));
  for (int i = 0; i < steps; ++i) sensor.advance(0.001, to);
  const double expected = to + (from - to) * std::exp(-1.0);
  EXPECT_NEAR(si_of(spec(), sensor.word()), expected, 0.5001 * spec().count_si);
}

TEST_P(EverySensor, RoundsToTheNearestCount) {
  for (const double part : {0.0, 0.3, 0.49, 0.51, 0.9}) {
    Sensor sensor = silent_sensor(spec());
    const double whole = std::floor((middle_of(spec()) - spec().zero_si) / spec().count_si);
    sensor.advance(0.001, spec().zero_si + spec().count_si * (whole + part));
    EXPECT_NEAR(si_of(spec(), sensor.word()),
                spec().zero_si + spec().count_si * (whole + (part > 0.5 ? 1 : 0)),
                1e-6 * spec().count_si * std::max(1.0, whole));
  }
}

TEST_P(EverySensor, SaturatesAtItsRangeAndNeverReadsNoValue) {
  for (const bool high : {false, true}) {
    Sensor sensor = silent_sensor(spec());
    sensor.advance(0.001, high ? 1e9 : -1e9);
    const double bound = high ? spec().max_si : spec().min_si;
    EXPECT_NEAR(si_of(spec(), sensor.word()), bound, 0.5001 * spec().count_si);
    EXPECT_NE(sensor.word(), spec().is_signed ? 0x8000 : 0xffff);
  }
}

TEST_P(EverySensor, HasNoValueBeforeItsFirstSampleAndWhenItsFaultSaysSo) {
  Sensor sensor = silent_sensor(spec());
  const std::uint16_t no_value = spec().is_signed ? 0x8000 : 0xffff;
  EXPECT_EQ(sensor.word(), no_value);
  sensor.advance(0.001, middle_of(spec()));
  EXPECT_NE(sensor.word(), no_value);
  sensor.set_fault({ChannelFault::Kind::no_value});
  EXPECT_EQ(sensor.word(), no_value);
}

TEST_P(EverySensor, GetsStuckAndWellAgain) {
  Sensor sensor = silent_sensor(spec());
  sensor.advance(0.001, middle_of(spec()));
  const std::uint16_t before = sensor.word();
  sensor.set_fault({ChannelFault::Kind::stuck});
  sensor.advance(100 * spec().lag_s, spec().max_si);
  EXPECT_EQ(sensor.word(), before);
  sensor.set_fault({});
  EXPECT_NEAR(si_of(spec(), sensor.word()), spec().max_si, 0.5001 * spec().count_si);
}

TEST_P(EverySensor, ShowsAnOffsetStep) {
  Sensor sensor = silent_sensor(spec());
  sensor.advance(0.001, middle_of(spec()));
  const double before = si_of(spec(), sensor.word());
  sensor.set_fault({ChannelFault::Kind::offset, 100 * spec().count_si});
  EXPECT_NEAR(si_of(spec(), sensor.word()) - before, 100 * spec().count_si, 0.01 * spec().count_si);
}

TEST_P(EverySensor, DrawsItsCalibrationErrorFromTheStatedUncertainty) {
  double offset2 = 0, gain2 = 0;
  constexpr int kBenches = 4000;
  for (std::uint64_t seed = 0; seed < kBenches; ++seed) {
    NoiseSource source(seed, "calibration");
    const CalibrationError error = draw_calibration_error(spec(), source);
    EXPECT_LE(std::abs(error.offset_si), 2.5 * spec().u_offset_si);
    EXPECT_LE(std::abs(error.gain_rel), 2.5 * spec().u_gain_rel);
    offset2 += error.offset_si * error.offset_si / kBenches;
    gain2 += error.gain_rel * error.gain_rel / kBenches;
  }
  // A normal cut at 2.5 has 0.955 of its deviation; 4000 draws know it to 1.1 %.
  EXPECT_NEAR(std::sqrt(offset2), 0.955 * spec().u_offset_si, 0.05 * spec().u_offset_si);
  EXPECT_NEAR(std::sqrt(gain2), 0.955 * spec().u_gain_rel, 0.05 * spec().u_gain_rel);
}

INSTANTIATE_TEST_SUITE_P(Table, EverySensor, testing::Range<std::size_t>(0, kChannelCount),
                         [](const auto& info) { return std::string(kChannelNames[info.param]); });

TEST(Sensor, AppliesGainToTheValueAndOffsetToTheReading) {
  const SensorSpec& spec = sensor_of(Channel::discharge_pressure);
  Sensor sensor(spec, {.offset_si = 200, .gain_rel = 0.01}, NoiseSource(1), 0);
  sensor.advance(0.001, 600e3);
  EXPECT_NEAR(si_of(spec, sensor.word()), 606e3 + 200, 10.01);
}

TEST(Bench, KeepsItsCalibrationErrorsOverRunsAndHasOthersThanItsNeighbour) {
  const auto error_of = [](const std::string& name) {
    InstrumentsOptions options;
    options.bench = name;
    return Instruments(options).calibration_error(Channel::flow).gain_rel;
  };
  EXPECT_EQ(error_of("north"), error_of("north"));
  EXPECT_NE(error_of("north"), error_of("south"));
  EXPECT_NE(error_of("north"), 0);
}

TEST(Bench, ReadsTheRoomItStandsIn) {
  InstrumentsOptions options = quiet_options();
  options.room = {.temperature_k = 296.15, .pressure_abs_pa = 98.2e3, .relative_humidity = 0.4};
  const TestBench bench(options);
  EXPECT_EQ(bench.input_at(8), 49100);
  EXPECT_EQ(bench.input_at(9), 460);    // nothing clamped: the probes hang in the air
  EXPECT_EQ(bench.input_at(11), 1150);  // 23.00 degC of 0.02 K
  EXPECT_EQ(bench.input_at(12), 4000);
}

TEST(Bench, ShowsCrankRippleOnPressureAndCurrentWhileTheMotorRuns) {
  TestBench bench(quiet_options());
  ASSERT_EQ(bench.instruments.clamp(nominal_design(Model::p1_60_12)), std::nullopt);
  bench.switch_on();
  ASSERT_EQ(bench.instruments.write(104, Words{4000, 0}), std::nullopt);
  bench.wait_attended(10);
  int turns = 0;
  std::uint16_t before = bench.input_at(6);
  int rising = 1;
  for (int i = 0; i < 400; ++i) {  // 0.4 s at some 50 rev/s
    ASSERT_EQ(bench.write(holding::lease, 1), std::nullopt);
    bench.wait(0.001);
    const std::uint16_t now = bench.input_at(6);
    if (now != before && (now > before) != (rising > 0)) ++turns, rising = -rising;
    before = now;
  }
  EXPECT_GT(turns, 10);  // one thing that rises and falls with the crank
}

}  // namespace
}  // namespace simbench
