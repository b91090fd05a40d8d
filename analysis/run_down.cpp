#include "analysis/run_down.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "analysis/least_squares.h"
#include "analysis/refused.h"

namespace endgate::analysis {
namespace {

constexpr double kOpensWithin_s = 0.3;  // after the command
constexpr double kLongest_s = 1.5;      // a fan or a flywheel is not followed further
constexpr double kFell = 0.03;          // of V_h: the first sample that shows the open relay
constexpr int kLagRounds = 4;           // of the fit, tau being found in it
constexpr double kWorstFit = 5;         // residual scatter over stated noise: no run-down
constexpr std::size_t kBefore = 1;      // samples of the hold kept before the first that fell

// Samples from the last of the hold on; times from the first one that fell.
struct Falling {
  std::vector<double> time_s;
  std::vector<double> volt;
  double first_s = 0;   // of the first that fell
  double before_s = 0;  // of the one before, <= 0
};

Outcome<Falling> falling_of(const Column& voltage, const RunDownQuestion& question) {
  const auto& time = voltage.time_s;
  std::size_t i = static_cast<std::size_t>(
      std::lower_bound(time.begin(), time.end(), question.off_s) - time.begin());
  while (i < time.size() && voltage.value[i] > (1 - kFell) * question.hold_v) ++i;
  if (i < kBefore || i >= time.size() || time[i] > question.off_s + kOpensWithin_s)
    return refused(RefusalKind::missing_step, "the voltage does not show the relay opening");
  Falling falling;
  falling.first_s = time[i];
  falling.before_s = time[i - kBefore] - time[i];
  for (; i < time.size() && time[i] < falling.first_s + kLongest_s; ++i) {
    if (voltage.value[i] < kLeastEmfShare * question.hold_v) break;
    falling.time_s.push_back(time[i] - falling.first_s);
    falling.volt.push_back(voltage.value[i]);
  }
  if (falling.volt.size() < kLeastFalling)
    return refused(RefusalKind::too_few_points, "the motor stood still within a few samples");
  return falling;
}

struct Parabola {
  std::array<double, 3> by{};

  [[nodiscard]] double at(double t) const { return by[0] + t * (by[1] + t * by[2]); }
  [[nodiscard]] double slope(double t) const { return by[1] + 2 * t * by[2]; }
};

struct RunDownFit {
  Parabola path;
  double rest_v = 0;  // D
  double lag_s = 0;
  double chi_square = 0;
  int degrees_of_freedom = 0;
};

// One round about the lag of the round before: D exp(-t/tau) is straight in tau there.
Outcome<RunDownFit> round_of(const Falling& falling, const RunDownQuestion& question,
                             const RunDownFit& about) {
  LinearSystem system(5);
  const double sigma = std::max(question.noise.sigma_si, 1e-9);
  for (std::size_t i = 0; i < falling.volt.size(); ++i) {
    const double t = falling.time_s[i];
    const double rest = std::exp(-t / about.lag_s);
    const double in_lag = about.rest_v * t / (about.lag_s * about.lag_s) * rest;
    system.add(std::array{1.0, t, t * t, rest, in_lag}, {falling.volt[i], sigma});
  }
  system.add(std::array{0.0, 0.0, 0.0, 0.0, 1.0},
             {question.lag_s - about.lag_s, kLag_u_rel * question.lag_s});
  const Outcome<LinearFit> found = solve_least_squares(system);
  if (!found) return found.error();
  const auto& p = found->parameters;
  const double lag = std::clamp(about.lag_s + p[4], question.lag_s / 2, 2 * question.lag_s);
  return RunDownFit{{{p[0], p[1], p[2]}}, p[3], lag, found->chi_square, found->degrees_of_freedom};
}

Outcome<RunDownFit> fit_of(const Falling& falling, const RunDownQuestion& question) {
  RunDownFit fit;
  fit.lag_s = question.lag_s;
  for (int round = 0; round < kLagRounds; ++round) {
    const Outcome<RunDownFit> next = round_of(falling, question, fit);
    if (!next) return next;
    fit = *next;
  }
  return fit;
}

// (2), between the last sample of the hold and the first that fell; by bisection.
std::optional<double> opened(const RunDownFit& fit, const Falling& falling, double hold_v) {
  const auto beyond = [&](double t) {
    return fit.rest_v * std::exp(-t / fit.lag_s) - (hold_v - fit.path.at(t));
  };
  double low = falling.before_s - fit.lag_s;
  double high = 0;
  if (!(beyond(low) > 0) || !(beyond(high) < 0)) return std::nullopt;
  for (int i = 0; i < 60; ++i) {
    const double middle = (low + high) / 2;
    (beyond(middle) > 0 ? low : high) = middle;
  }
  return (low + high) / 2;
}

struct RunDownFound {
  RunDown run_down;
  double scatter = 1;  // of the residuals over the stated noise, at least 1
};

Outcome<RunDownFound> found_in(const Falling& falling, const RunDownQuestion& question) {
  const Outcome<RunDownFit> fit = fit_of(falling, question);
  if (!fit) return fit.error();
  const std::optional<double> open_s = opened(*fit, falling, question.hold_v);
  const double scatter = std::sqrt(fit->chi_square / std::max(1, fit->degrees_of_freedom));
  if (!open_s || !(scatter < kWorstFit))
    return out_of_domain(
        "after the motor was off its voltage does not fall as of a motor that "
        "runs down");
  RunDown down;
  down.opened_s = falling.first_s + *open_s;
  down.back_emf_v = fit->path.at(*open_s + fit->lag_s) - fit->path.by[2] * fit->lag_s * fit->lag_s;
  down.fall_v_s = -fit->path.slope(*open_s + fit->lag_s);
  if (!(down.fall_v_s > 0) || !(down.back_emf_v > 0) || !(down.back_emf_v < question.hold_v))
    return out_of_domain("the back-EMF is not between zero and the supply's voltage");
  return RunDownFound{down, std::max(1.0, scatter)};
}

Outcome<Falling> falling_checked(const Column& voltage, const RunDownQuestion& question) {
  if (!(question.hold_v > 0) || !(question.lag_s > 0))
    return out_of_domain("no voltage before the motor was off, or a channel without a lag");
  return falling_of(voltage, question);
}

// By how much each sample moves what is found.
struct Coefficients {
  std::vector<double> back_emf;
  std::vector<double> fall_s;
};
Outcome<Coefficients> coefficients_of(Falling falling, const RunDownQuestion& question,
                                      const RunDown& here) {
  const double step_v = 0.1 * std::max(question.noise.sigma_si, 1e-6);
  Coefficients by;
  for (double& volt : falling.volt) {
    const double as_read = volt;
    volt += step_v;
    const Outcome<RunDownFound> there = found_in(falling, question);
    volt = as_read;
    if (!there) return there.error();
    by.back_emf.push_back((there->run_down.back_emf_v - here.back_emf_v) / step_v);
    by.fall_s.push_back((there->run_down.fall_v_s - here.fall_v_s) / step_v);
  }
  return by;
}

}  // namespace

Outcome<RunDown> run_down_of(const Column& voltage, const RunDownQuestion& question) {
  const Outcome<Falling> falling = falling_checked(voltage, question);
  if (!falling) return falling.error();
  const Outcome<RunDownFound> found = found_in(*falling, question);
  if (!found) return found.error();
  return found->run_down;
}

Outcome<RunDownNoise> run_down_noise(const Column& voltage, const RunDownQuestion& question) {
  const Outcome<Falling> falling = falling_checked(voltage, question);
  if (!falling) return falling.error();
  const Outcome<RunDownFound> here = found_in(*falling, question);
  if (!here) return here.error();
  const Outcome<Coefficients> by = coefficients_of(*falling, question, here->run_down);
  if (!by) return by.error();
  const double sigma = here->scatter * std::hypot(question.noise.sigma_si,
                                                  question.noise.resolution_si / std::sqrt(12.0));
  const auto variance = [&](double of_back_emf, double of_fall) {
    std::vector<double> joined = by->back_emf;
    for (std::size_t i = 0; i < joined.size(); ++i)
      joined[i] = of_back_emf * joined[i] + of_fall * by->fall_s[i];
    return sigma * sigma *
           combination_variance(falling->time_s, joined, question.noise.correlation_s);
  };
  return RunDownNoise{std::sqrt(variance(1, 0)), std::sqrt(variance(0, 1)),
                      (variance(1, 1) - variance(1, -1)) / 4};
}

}  // namespace endgate::analysis
