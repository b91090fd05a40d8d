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
//
// CONTRACT  (tests/analysis/judge_autocorrelation_test.cpp)
//
//   AC-1  phi = 0 gives 1/n; phi -> 1 gives 1 (n samples know as much as one).
//   AC-2  (1) keeps its digits near phi = 1, where its two terms cancel.
//   AC-3  n = 0 gives no answer, never a zero uncertainty; phi outside [0, 1) likewise.
//
// Dimensionless throughout.  Source: textbooks on time series.

#pragma once

#include <cstddef>
#include <optional>

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

}  // namespace endgate::analysis
