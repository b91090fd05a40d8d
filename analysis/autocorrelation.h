// How well does a mean know its quantity when neighbouring samples resemble each other?
//
// MODEL
//
//   y_t = mu + e_t,   e_t = phi e_(t-1) + white noise,   phi = exp(-period / correlation time)
//
//   One exponential correlation time.  Crank ripple is periodic and not in the model: average over
//   whole revolutions first.  phi belongs to the bench (its noise model): estimated inside one
//   short window it comes out too low, and so does the variance.
//
// ESTIMATE                                                n samples, sigma of one sample
//
//   Var(mean) / sigma^2 = [ n (1+phi)/(1-phi) - 2 phi (1-phi^n)/(1-phi)^2 ] / n^2      (1), exact
//   n_eff               = sigma^2 / Var(mean)
//   E[s^2] / sigma^2    = n/(n-1) (1 - Var(mean)/sigma^2)
//
// CONTRACT  (tests/analysis/judge_autocorrelation_test.cpp)
//
//   AC-1  phi = 0 gives 1/n; phi -> 1 gives 1 (n samples know as much as one).
//   AC-2  (1) keeps its digits near phi = 1, where its two terms cancel.
//   AC-3  n = 0 gives no answer, never a zero uncertainty; phi outside [0, 1) likewise.
//
// Dimensionless throughout.  Source: textbooks on time series; lag 1 as certified by NIST StRD.

#pragma once

#include <cstddef>
#include <optional>
#include <span>

namespace endgate::analysis {

struct CorrelatedSamples {
  std::size_t count = 0;
  double phi = 0;  // lag-1 autocorrelation, [0, 1)
};

// phi of samples `period_s` apart; 0 when the correlation time is 0.  Both >= 0.
[[nodiscard]] double phi_of(double period_s, double correlation_time_s);

// (1): times sigma^2 it is the variance of the mean.
[[nodiscard]] std::optional<double> variance_factor_of_mean(const CorrelatedSamples& samples);

// n_eff, 1 ... count.
[[nodiscard]] std::optional<double> effective_sample_size(const CorrelatedSamples& samples);

// E[s^2] / sigma^2 of a window; needs two samples.
[[nodiscard]] std::optional<double> expected_variance_ratio(const CorrelatedSamples& samples);

// r_1 = sum (y_t - mean)(y_(t+1) - mean) / sum (y_t - mean)^2.  Missing when the values are
// constant or fewer than two.
[[nodiscard]] std::optional<double> lag_one_autocorrelation(std::span<const double> values);

}  // namespace endgate::analysis
