#include "analysis/ripple_fit.h"

#include <Eigen/Dense>
#include <cmath>
#include <complex>
#include <numbers>
#include <utility>

#include "analysis/sum.h"

namespace endgate::analysis {
namespace {

constexpr int kFitRounds = 6;
constexpr double kShows = 10;  // times the mean power of noise alone, which is exceeded by e^-10
constexpr double kTurn_rad = 2 * std::numbers::pi;

// Works on time scaled to -1 ... 1 and on the phase a speed and a drift add by its end.
class Fitter {
 public:
  Fitter(std::span<const double> current, double rate, std::span<const int> orders,
         std::vector<bool> has_say)
      : current_(current),
        orders_(orders),
        has_say_(std::move(has_say)),
        half_s_(static_cast<double>(current.size()) / rate / 2),
        amplitudes_(Eigen::VectorXd::Zero(lines() * 2 + 1)),
        shows_(orders.size(), false) {}

  RippleFit run(double speed_rev_s) {
    turn_ = kTurn_rad * speed_rev_s * half_s_;
    solve(false);
    for (int round = 0; round < kFitRounds && any_shows_; ++round)
      if (solve(true) < 1e-9) break;
    return result();
  }

 private:
  [[nodiscard]] Eigen::Index lines() const { return static_cast<Eigen::Index>(orders_.size()); }
  [[nodiscard]] double time_at(std::size_t i) const {
    const auto n = static_cast<double>(current_.size());
    return (2 * static_cast<double>(i) + 1 - n) / n;
  }

  // Columns at one sample: 1, cosines, sines; the slope of the model over phase is returned.  The
  // orders rise, so each turn is a power of the first: one sine and cosine a sample.
  double fill(double time, Eigen::VectorXd& row) const {
    const double phase = turn_ * time + bend_ * time * time;
    const std::complex<double> turn = std::polar(1.0, phase);
    std::complex<double> power = 1;
    int reached = 0;
    double slope = 0;
    row[0] = 1;
    for (Eigen::Index l = 0; l < lines(); ++l) {
      const int order = orders_[static_cast<std::size_t>(l)];
      for (; reached < order; ++reached) power *= turn;
      const double c = power.real(), s = power.imag();
      row[1 + l] = c;
      row[1 + lines() + l] = s;
      if (shows_[static_cast<std::size_t>(l)])
        slope += order * (amplitudes_[1 + lines() + l] * c - amplitudes_[1 + l] * s);
    }
    return slope;
  }

  // Only lines well above the noise may pull at the speed; the others would lock it to their noise.
  // `left`: sum of the squared residuals.  Returns whether any line shows.
  bool mark_lines(double left) {
    const auto n = static_cast<double>(current_.size());
    const double of_noise = 4 * std::max(left, 0.0) / (n * n);  // mean squared amplitude
    bool any = false;
    for (Eigen::Index l = 0; l < lines(); ++l) {
      const double c = amplitudes_[1 + l], s = amplitudes_[1 + lines() + l];
      const auto at = static_cast<std::size_t>(l);
      const bool shows = has_say_[at] && c * c + s * s > kShows * of_noise;
      shows_[at] = shows;
      any = any || shows;
    }
    return any;
  }

  // One linear step; the change of phase at the ends, in radians.
  double solve(bool with_phase) {
    const Eigen::Index linear = 1 + 2 * lines(), size = linear + (with_phase ? 2 : 0);
    Eigen::MatrixXd normal = Eigen::MatrixXd::Zero(size, size);
    Eigen::VectorXd right = Eigen::VectorXd::Zero(size), row(size);
    Sum squares;
    for (std::size_t i = 0; i < current_.size(); ++i) {
      const double time = time_at(i), slope = fill(time, row);
      if (with_phase) {
        row[linear] = slope * time;
        row[linear + 1] = slope * time * time;
      }
      normal.selfadjointView<Eigen::Lower>().rankUpdate(row);
      right += current_[i] * row;
      squares.add(current_[i] * current_[i]);
    }
    const Eigen::LDLT<Eigen::MatrixXd> factor(normal.selfadjointView<Eigen::Lower>());
    const Eigen::VectorXd found = factor.solve(right);
    amplitudes_ = found.head(linear);
    any_shows_ = mark_lines(squares.value() - found.dot(right));
    if (!with_phase) return 0;
    turn_ += found[linear];
    bend_ += found[linear + 1];
    const Eigen::VectorXd unit = Eigen::VectorXd::Unit(size, linear);
    variance_ = factor.solve(unit)[linear];
    return std::abs(found[linear]) + std::abs(found[linear + 1]);
  }

  [[nodiscard]] RippleFit result() const {
    RippleFit out;
    const double to_speed = 1 / (kTurn_rad * half_s_);
    out.speed_rev_s = turn_ * to_speed;
    out.drift_rev_s2 = 2 * bend_ * to_speed / half_s_;
    out.speed_variance = variance_ * to_speed * to_speed;
    out.shows = shows_;
    for (Eigen::Index l = 0; l < lines(); ++l) {
      out.cosine.push_back(amplitudes_[1 + l]);
      out.sine.push_back(amplitudes_[1 + lines() + l]);
    }
    Eigen::VectorXd row(1 + 2 * lines());
    for (std::size_t i = 0; i < current_.size(); ++i) {
      fill(time_at(i), row);
      out.residual.push_back(current_[i] - row.dot(amplitudes_));
    }
    return out;
  }

  std::span<const double> current_;
  std::span<const int> orders_;
  std::vector<bool> has_say_;
  double half_s_;
  Eigen::VectorXd amplitudes_;  // constant, cosines, sines
  std::vector<bool> shows_;     // by line
  double turn_ = 0;             // 2 pi N T / 2
  double bend_ = 0;             // 2 pi D (T / 2)^2 / 2
  double variance_ = 0;
  bool any_shows_ = false;
};

}  // namespace

RippleFit fit_ripple(std::span<const double> current_a, double sample_rate_hz,
                     std::span<const int> orders, std::vector<bool> has_say, double speed_rev_s) {
  return Fitter(current_a, sample_rate_hz, orders, std::move(has_say)).run(speed_rev_s);
}

}  // namespace endgate::analysis
