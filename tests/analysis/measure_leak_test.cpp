#include <gtest/gtest.h>

#include <cmath>

#include "analysis/pressure_decay.h"
#include "analysis/receiver_gas.h"
#include "tests/analysis/measure_published.h"

namespace endgate::analysis {
namespace {

using published::number;

template <class Gauge>
std::vector<DecayBlock> blocks_of(double length_s, const Gauge& gauge) {
  std::vector<DecayBlock> blocks;
  for (int i = 0; i < 40; ++i) {
    const double t = length_s * (i + 0.5) / 40;
    blocks.push_back({t, gauge(t), 5});
  }
  return blocks;
}

TEST(PressureDecay, GivesThePublishedLeakRate) {
  const auto line = blocks_of(10, [](double t) { return 400000 - 12 * t; });
  const Decay decay = *fit_decay(line, {101325, 3, 0, 0, 1e-3});
  EXPECT_NEAR(decay.loss_pa_s * 500e-6 / 101325 * 60e6 / number("leak_rate.cm3_min"), 1, 1e-3);
}

// 300 s of laminar decay in closed form, over which the rate falls by a fifth.
TEST(PressureDecay, FollowsThePublishedLaminarDecay) {
  const double pa = 101325;
  const double start = number("decay.start_abs_pa");
  const double k = start / number("decay.tau_choked_s") / (start * start - pa * pa);
  const auto absolute = [&](double t) {
    const double a = (start - pa) / (start + pa) * std::exp(-2 * k * pa * t);
    return pa * (1 + a) / (1 - a);
  };
  EXPECT_NEAR(absolute(300), number("decay.after_300_s_abs_pa"), 0.01);
  const auto blocks = blocks_of(300, [&](double t) { return absolute(t) - pa; });
  const Decay decay = *fit_decay(blocks, {pa, 3, 0, 0, 1e-3});
  const double mean = decay.mean_abs_pa;
  EXPECT_NEAR(decay.loss_pa_s / (k * (mean * mean - pa * pa)), 1, 2e-4);
}

TEST(PressureDecay, ScalesByTheLaminarLawAsPublished) {
  EXPECT_NEAR(laminar_driving_pa2(800e3, 101325) / laminar_driving_pa2(100e3, 101325) /
                  number("laminar_scaling.ratio"),
              1, 1e-7);
}

TEST(PressureDecay, TellsWarmGasFromALeak) {
  const auto warm = [](double t) { return 600000 + 4000 * std::exp(-t / 3) - 50 * t; };
  const auto blocks = blocks_of(10, warm);
  DecayModel model{100000, 3.6, 0, 0, 10000};  // stated 20 % too slow
  const CoolingTime cooling = *find_cooling_time(blocks, model, 0.2);
  EXPECT_NEAR(cooling.tau_s, 3.0, 0.05);
  model.cooling_s = cooling.tau_s;
  const Decay decay = *fit_decay(blocks, model);
  EXPECT_NEAR(decay.loss_pa_s, 50, 4);
  EXPECT_LT(decay.u_random_pa_s, 2);
}

TEST(PressureDecay, RefusesWhatHoldsNoPressure) {
  EXPECT_FALSE(fit_decay({}, {100000, 3, 0, 0, 100}));
  EXPECT_FALSE(fit_decay(blocks_of(10, [](double) { return 0.0; }), {100000, 3, 0, 0, 100}));
  EXPECT_FALSE(find_cooling_time({}, {100000, 3, 0, 0, 100}, 0.2));
}

TEST(ReceiverGas, FillsAdiabaticallyAtThePublishedRate) {
  Receiver receiver;
  receiver.volume_m3 = 5e-3;
  EXPECT_NEAR(storage_kg_pa(receiver, 287.04781, 298.15) * 20000 /
                  number("receiver_filling.mass_flow_kg_s"),
              1, 1e-7);
}

// Compressed by more gas, then closed: mass stays, and the temperature follows the pressure.
TEST(ReceiverGas, KeepsItsMassWhileClosedGasCools) {
  const Receiver receiver{"v", "c", 2e-3, 0, 1.7, 0.5, 0};
  const double tau = cooling_time_s(receiver, 700000, 293.15);
  const double pressed = 1.001;  // by adiabatic inflow, gas at its own temperature
  const double warm_k = 293.15 * (pressed - 1) * 0.4 / 1.4;
  GasReadings readings;
  for (int i = 0; i < 1000; ++i) {
    const double warmer = i == 0 ? 0 : warm_k * std::exp(-(i - 1) * 0.02 / tau);
    const double pressure =
        i == 0 ? 700000 : 700000 * pressed * (293.15 + warmer) / (293.15 + warm_k);
    readings.time_s.push_back(i * 0.02);
    readings.gauge_pa.push_back(pressure - 100000);
    readings.metered_kg_s.push_back(0);
    readings.head_k.push_back(293.15);
    readings.ambient_k.push_back(293.15);
    readings.motor_on.push_back(0);
    readings.receiver.push_back(0);
  }
  GasSettings settings;
  settings.receivers = {receiver};
  GasHistory history;
  follow_gas(readings, settings, history);
  EXPECT_NEAR(history.temperature_k[1] - 293.15, warm_k, 0.01 * warm_k);
  const double mass_first = (100000 + readings.gauge_pa[1]) / history.temperature_k[1];
  const double mass_last = (100000 + readings.gauge_pa.back()) / history.temperature_k.back();
  EXPECT_NEAR(mass_last / mass_first, 1, 2e-6);
}

TEST(ReceiverGas, StaysFiniteWithImpossibleReadings) {
  GasReadings readings;
  for (int i = 0; i < 50; ++i) {
    readings.time_s.push_back(i % 7 * 1e6);
    readings.gauge_pa.push_back(i % 2 ? 1e12 : -1e12);
    readings.metered_kg_s.push_back(i % 3 ? 1e12 : -1e12);
    readings.head_k.push_back(-1e12);
    readings.ambient_k.push_back(1e12);
    readings.motor_on.push_back(i % 2 == 0 ? 0 : 1);
    readings.receiver.push_back(0);
  }
  GasSettings settings;
  settings.receivers = {Receiver{"v", "c", 2e-3, 0, 1.7, 0.5, 0, 100, 1}};
  settings.meter_lag_s = 1;
  GasHistory history;
  follow_gas(readings, settings, history);
  for (const double temperature : history.temperature_k) EXPECT_TRUE(std::isfinite(temperature));
  for (const double inflow : history.inflow_kg_s) EXPECT_TRUE(std::isfinite(inflow));
}

}  // namespace
}  // namespace endgate::analysis
