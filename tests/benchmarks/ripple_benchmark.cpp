// How near the truth is the speed found in a motor's current, and how often is a sure lock false?
//
//   ripple_benchmark [seed]
//
// 1. Units of the simulated bench at five loads, their current as the bench's own fast probe
//    samples it at 20 kHz for 0.5 s: commutation of 3 % of the current, bars up to 30 % uneven,
//    noise of 50 mA, counts of 5 mA.
// 2. 500 made motors, from clear to drowned in noise: of the locks stated at 99 %, the false ones.
// 3. The same beside a second motor of the same make at another speed, heard at a share of its
//    current.

#include <algorithm>
#include <chrono>
#include <cstdio>
#include <cstdlib>

#include "analysis/ripple_speed.h"
#include "fixtures/bench/instruments/waveform_probe.h"
#include "fixtures/bench/physics/plant.h"
#include "fixtures/bench/physics/population.h"
#include "tests/analysis/ripple_made.h"

namespace {

using namespace endgate::analysis;

constexpr double kRate = 20000, kTwoPi = 2 * std::numbers::pi;
constexpr std::size_t kSamples = 10000;

struct Tally {
  std::vector<double> relative;  // errors of sure locks
  double to_bound = 0, to_stated = 0, seconds = 0;
  int runs = 0, sure = 0, wrong = 0;

  void add(const RippleSpeed& got, double truth, double noise_a) {
    ++runs;
    if (!got.trusted()) return;
    ++sure;
    const double error = got.speed_rev_s - truth;
    if (std::abs(error / truth) > 0.002) ++wrong;
    relative.push_back(std::abs(error / truth));
    double strength = 0;  // order squared times amplitude squared, noise taken off
    for (const RippleLine& line : got.lines)
      strength += std::max(0.0, std::pow(line.amplitude_a, 2) - 2 * line.u_a * line.u_a) *
                  line.order * line.order;
    const auto n = static_cast<double>(kSamples);
    const double bound = std::sqrt(12 * kRate * kRate * 2 * noise_a * noise_a /
                                   (kTwoPi * kTwoPi * strength * n * (n * n - 1)));
    to_bound += std::pow(error / bound, 2);
    to_stated += std::pow(error / got.u_rev_s, 2);
  }

  void say(const char* what) {
    std::sort(relative.begin(), relative.end());
    const auto at = [&](double share) {
      return relative.empty() ? 0
                              : 100 * relative[static_cast<std::size_t>(
                                          share * static_cast<double>(relative.size() - 1))];
    };
    std::printf(
        "%s: %d runs, %d sure, %d of these false; error of the sure ones: median %.5f %%, "
        "95th percentile %.5f %%, largest %.5f %%; rms error %.2f of the Cramer-Rao bound, "
        "%.2f of the stated uncertainty; %.1f ms each\n",
        what, runs, sure, wrong, at(0.5), at(0.95), at(1), std::sqrt(to_bound / sure),
        std::sqrt(to_stated / sure), 1e3 * seconds / runs);
  }
};

Outcome<RippleSpeed> timed(const std::vector<double>& current, const RippleExpectation& expected,
                           Tally& tally) {
  const auto from = std::chrono::steady_clock::now();
  auto got = ripple_speed(current, kRate, expected);
  tally.seconds += std::chrono::duration<double>(std::chrono::steady_clock::now() - from).count();
  return got;
}

// What the bench's fast probe hears of a running plant at this load; the true mean speed beside it.
double sample_plant(simbench::Plant& plant, const simbench::Actuators& set, std::uint64_t seed,
                    std::vector<double>& current) {
  constexpr double kStep_s = 1e-3;
  simbench::WaveformProbe probe(kRate, simbench::NoiseSource(seed));
  probe.advance(plant.unit(), plant.state(), kStep_s);  // it takes the angle as it stands
  (void)probe.take();
  const double from_rad = plant.state().crank_angle_rad;
  for (int i = 0; i < 500; ++i) {
    plant.step(kStep_s, set);
    probe.advance(plant.unit(), plant.state(), kStep_s);
  }
  current.clear();
  for (const std::int16_t count : probe.take().counts)
    current.push_back(count * simbench::kWaveformCount_a);
  return std::abs(plant.state().crank_angle_rad - from_rad) / kTwoPi / (500 * kStep_s);
}

void plants(std::uint64_t seed) {
  Tally tally;
  std::mt19937_64 random(seed);
  const simbench::Population population(seed, {0.2, 0.3, 1});
  for (int number = 0; number < 100; ++number) {
    auto unit = population.unit(simbench::make_serial("2648", 1000 * (number % 4) + number));
    unit.motor.bar_uneven_rel = std::uniform_real_distribution<double>(0, 0.3)(random);
    simbench::Plant plant(unit, {}, {});
    simbench::Actuators set;
    set.motor_relay = true;
    set.supply_set_v = unit.nominal_voltage_v;
    for (const double load_pa : {0.0, 200e3, 400e3, 600e3, 800e3}) {
      set.back_pressure_set_gauge_pa = load_pa;
      plant.step(8, set);
      std::vector<double> current;
      const double truth = sample_plant(plant, set, random(), current);
      if (truth < 5) continue;  // a unit that does not turn
      const auto got = timed(current, {unit.motor.commutations_per_rev, 25, 75}, tally);
      tally.add(got.value(), truth, simbench::kWaveformNoise_a);
    }
  }
  tally.say("simulated bench");
}

void motors(std::uint64_t seed) {
  Tally tally;
  std::mt19937_64 random(seed + 1);
  for (int run = 0; run < 500; ++run) {
    const ripple_made::Motor motor = ripple_made::any_motor(random);
    const auto current = ripple_made::waveform(motor, kRate, kSamples, random);
    const auto got = timed(current, {motor.commutations, 28, 62}, tally);
    tally.add(got.value(), motor.speed_rev_s, motor.noise_a);
  }
  tally.say("made motors");
}

void motors_beside_another(std::uint64_t seed, double share) {
  Tally tally;
  std::mt19937_64 random(seed + 2);
  for (int run = 0; run < 500; ++run) {
    const ripple_made::Motor motor = ripple_made::any_motor(random);
    ripple_made::Motor other = motor;
    other.speed_rev_s = std::uniform_real_distribution<double>(30, 60)(random);
    other.noise_a = other.stranger_a = 0;
    auto current = ripple_made::waveform(motor, kRate, kSamples, random);
    const auto heard = ripple_made::waveform(other, kRate, kSamples, random);
    for (std::size_t i = 0; i < current.size(); ++i) current[i] += share * heard[i];
    const auto got = timed(current, {motor.commutations, 28, 62}, tally);
    tally.add(got.value(), motor.speed_rev_s, motor.noise_a);
  }
  tally.say(share > 0.2 ? "beside another at 30 %" : "beside another at 10 %");
}

}  // namespace

int main(int count, char** arguments) {
  const std::uint64_t seed = count > 1 ? std::strtoull(arguments[1], nullptr, 10) : 1;
  motors(seed);
  plants(seed);
  for (const double share : {0.1, 0.3}) motors_beside_another(seed, share);
}
