// The fast probe of the simulated bench: what a motor's current really holds.

#include <gtest/gtest.h>

#include <cmath>
#include <complex>
#include <numbers>

#include "fixtures/bench/instruments/instruments.h"
#include "tests/simbench/instruments_bench.h"

namespace simbench {
namespace {

constexpr double kHz = 20000, kTwoPi = 2 * std::numbers::pi;

struct Listened {
  double speed_rev_s = 0;  // mean of the truth
  std::vector<double> current_a;
};

// Half a second of a unit that has run for two, against 400 kPa.
Listened listen_to(UnitDesign unit) {
  InstrumentsOptions options;
  options.waveform_hz = kHz;
  Instruments bench(options);
  EXPECT_FALSE(bench.clamp(unit));
  const auto volts = static_cast<std::uint16_t>(1000 * unit.nominal_voltage_v);
  EXPECT_FALSE(bench.write(holding::owner, Words{1, 1, 1, volts, 4000, 0}));
  for (int i = 0; i < 20; ++i) {
    EXPECT_FALSE(bench.write(holding::lease, Words{1}));
    bench.advance(0.1, 0.1);
    (void)bench.take_waveform();
  }
  Listened out;
  for (int i = 0; i < 500; ++i) {
    EXPECT_FALSE(bench.write(holding::lease, Words{1}));
    bench.advance(1e-3, 1e-3);
    out.speed_rev_s += bench.truth().speed_rev_s / 500;
  }
  for (const std::int16_t count : bench.take_waveform().counts)
    out.current_a.push_back(count * kWaveformCount_a);
  return out;
}

double amplitude(const Listened& heard, double hz) {
  const auto n = static_cast<double>(heard.current_a.size());
  std::complex<double> sum = 0;
  for (std::size_t i = 0; i < heard.current_a.size(); ++i) {
    const auto at = static_cast<double>(i);
    const double hann = 1 - std::cos(kTwoPi * at / n);  // keeps the mean current out of the lines
    sum += hann * heard.current_a[i] * std::polar(1.0, -kTwoPi * hz * at / kHz);
  }
  return 2 * std::abs(sum) / n;
}

double line(const Listened& heard, double order) {
  return amplitude(heard, order * heard.speed_rev_s);
}

UnitDesign twin() { return nominal_design(Model::p2_120_24); }

std::uint16_t input_of(const Instruments& bench, std::uint16_t address) {
  return std::get<Words>(bench.read(Function::read_input, address, 1)).at(0);
}

TEST(WaveformProbe, ACaptureHoldsTheSamplesThatTheStreamHas) {
  InstrumentsOptions options;
  options.waveform_hz = 1000;
  Instruments bench(options);
  bench.advance(0.25, 0.25);
  const std::size_t before = bench.take_waveform().counts.size();
  EXPECT_EQ(input_of(bench, input::capture), 0) << "none yet";
  EXPECT_FALSE(bench.write(holding::capture, Words{1}));
  bench.advance(0.3, 0.3);
  EXPECT_EQ(input_of(bench, input::capture), 0) << "under way";
  bench.advance(0.31, 0.31);
  EXPECT_EQ(input_of(bench, input::capture), 1);
  EXPECT_EQ(input_of(bench, input::capture_time_low), before);
  const WaveformSamples streamed = bench.take_waveform();
  const auto held = std::get<Words>(bench.read(Function::read_input, input::samples, 100));
  for (std::size_t i = 0; i < held.size(); ++i)
    EXPECT_EQ(static_cast<std::int16_t>(held[i]), streamed.counts[i]) << i;
  EXPECT_FALSE(bench.write(holding::capture, Words{1}));
  EXPECT_EQ(input_of(bench, input::capture), 0) << "being overwritten";
}

TEST(WaveformProbe, SamplesAtTheRateItSaysAndNumbersItsSamples) {
  InstrumentsOptions options;
  options.waveform_hz = kHz;
  Instruments bench(options);
  bench.advance(0.1, 0.1);
  const WaveformSamples first = bench.take_waveform();
  bench.advance(0.05, 0.05);
  const WaveformSamples second = bench.take_waveform();
  EXPECT_EQ(first.first, 0u);
  EXPECT_NEAR(static_cast<double>(first.counts.size()), 2000, 1);
  EXPECT_EQ(second.first, first.counts.size());
  EXPECT_NEAR(static_cast<double>(second.counts.size()), 1000, 1);
}

TEST(WaveformProbe, KeepsNoMoreThanTwoSecondsWhenNobodyTakes) {
  InstrumentsOptions options;
  options.waveform_hz = kHz;
  Instruments bench(options);
  bench.advance(5, 5);
  const WaveformSamples kept = bench.take_waveform();
  EXPECT_LE(kept.counts.size(), 2 * kHz);
  EXPECT_NEAR(static_cast<double>(kept.first + kept.counts.size()), 5 * kHz, 2);
}

TEST(WaveformProbe, WithoutTheDeviceThereIsNothing) {
  Instruments bench({});
  bench.advance(0.1, 0.1);
  EXPECT_TRUE(bench.take_waveform().counts.empty());
}

TEST(WaveformProbe, HoldsTheCommutationAtItsMultipleOfTheTrueSpeed) {
  const Listened heard = listen_to(twin());
  ASSERT_GT(heard.speed_rev_s, 30);
  const MotorDesign motor = twin().motor;
  const double amplitude_a = motor.commutation_ripple_rel * motor.machine_constant_20_v_s * kTwoPi *
                             heard.speed_rev_s / motor.winding_resistance_20_ohm;
  // The swing of the speed within a turn moves some of it beside the line.
  EXPECT_NEAR(line(heard, 16), amplitude_a, 0.1 * amplitude_a);
  EXPECT_NEAR(line(heard, 32), amplitude_a / 4, 0.1 * amplitude_a);
  EXPECT_LT(line(heard, 15.5), 0.1 * line(heard, 16));
}

TEST(WaveformProbe, ADeadCylinderMovesTheGasFromTwiceToOncePerTurn) {
  const Listened whole = listen_to(twin());
  const Listened dead = listen_to(with_fault(twin(), Fault::dead_cylinder, 1));
  EXPECT_LT(line(whole, 1), 0.1 * line(whole, 2));
  EXPECT_GT(line(dead, 1), line(dead, 2));
}

TEST(WaveformProbe, UnevenBarsMakeOrdersThatNothingElseMakes) {
  UnitDesign even = twin(), uneven = twin();
  even.motor.bar_uneven_rel = 0;
  uneven.motor.bar_uneven_rel = 0.3;
  const Listened smooth = listen_to(even), rough = listen_to(uneven);
  double quiet = 0, loud = 0;
  for (int order = 5; order <= 13; ++order) {
    quiet += std::pow(line(smooth, order), 2);
    loud += std::pow(line(rough, order), 2);
  }
  EXPECT_GT(loud, 10 * quiet);
}

}  // namespace
}  // namespace simbench
