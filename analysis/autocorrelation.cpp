#include "analysis/autocorrelation.h"

#include <cmath>

#include "analysis/sum.h"

namespace endgate::analysis {
namespace {

bool answerable(const CorrelatedSamples& samples) {
  return samples.count >= 1 && samples.phi >= 0 && samples.phi < 1;
}

}  // namespace

double phi_of(double period_s, double correlation_time_s) {
  return correlation_time_s > 0 ? std::exp(-period_s / correlation_time_s) : 0;
}

// Summed lag by lag: every term is positive, so nothing cancels near phi = 1 (AC-2).
std::optional<double> variance_factor_of_mean(const CorrelatedSamples& samples) {
  if (!answerable(samples)) return std::nullopt;
  const double n = static_cast<double>(samples.count);
  Sum pairs;
  double correlation = 1;
  for (std::size_t lag = 1; lag < samples.count; ++lag) {
    correlation *= samples.phi;
    if (correlation < 1e-18) break;  // below the last bit of the leading 1
    pairs.add((n - static_cast<double>(lag)) * correlation);
  }
  return (n + 2 * pairs.value()) / (n * n);
}

std::optional<double> effective_sample_size(const CorrelatedSamples& samples) {
  const std::optional<double> factor = variance_factor_of_mean(samples);
  if (!factor) return std::nullopt;
  return 1 / *factor;
}

}  // namespace endgate::analysis
