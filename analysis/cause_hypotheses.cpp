#include "analysis/cause_hypotheses.h"

#include <algorithm>
#include <cmath>
#include <map>

#include "analysis/cause_readings.h"
#include "analysis/grade_words.h"

namespace endgate::analysis {
namespace {

using Eigen::Index;
using Eigen::VectorXd;

constexpr double kFloor = 0.002;    // of a reading: rounding and drift that nobody states
constexpr double kShapeRel = 0.06;  // of a shift
constexpr double kSeverityStep = 0.025;
constexpr double kSeverityMost = 1.1;
constexpr double kBenchSpread = 8;  // standard uncertainties
constexpr double kBenchStep = 0.5;
constexpr double kBenchMost = 24;
constexpr double kBenchPrior = 0.1;  // of one channel, against 1 for a part of the unit
constexpr std::string_view kCalibration = "calibration ";

const NamedReading* find(const std::vector<NamedReading>& readings, const std::string& id) {
  const auto found = std::ranges::find(readings, id, &NamedReading::id);
  return found == readings.end() ? nullptr : &*found;
}

double slope(const CauseReading& reading, double value) {
  return reading.logarithmic ? 1 / std::hypot(reading.healthy, value) : 1 / reading.healthy;
}

double learned(const CauseTable& table, std::size_t row, std::size_t column) {
  const auto [low, high] = std::minmax(row, column);
  return table.covariance[high * (high + 1) / 2 + low];
}

// What one u of each stated cause does to the residuals.
std::map<std::string, VectorXd> columns_of(const CauseTable& table, const CauseData& data,
                                           const Evaluation& evaluation) {
  std::map<std::string, VectorXd> columns;
  for (std::size_t i = 0; i < data.rows.size(); ++i) {
    const CauseReading& reading = table.readings[data.rows[i]];
    const auto metric = std::ranges::find(evaluation.metrics, reading.id, &Metric::id);
    if (metric == evaluation.metrics.end() || !metric->value) continue;
    for (const UncertaintyPart& part : metric->parts) {
      if (part.cause.starts_with("random")) continue;  // inside the learned scatter
      VectorXd& column = columns[part.cause];
      if (column.size() == 0) column = VectorXd::Zero(data.residual.size());
      column[static_cast<Index>(i)] = part.u * slope(reading, *metric->value);
    }
  }
  return columns;
}

VectorXd shift_of(const CauseLevel& level, const CauseData& data) {
  VectorXd shift(data.residual.size());
  for (std::size_t i = 0; i < data.rows.size(); ++i)
    shift[static_cast<Index>(i)] = level.shift[data.rows[i]];
  return shift;
}

// Between the levels around it; beyond the last as between the last two.
VectorXd shift_at(const Cause& cause, const CauseData& data, double severity) {
  std::size_t above = 0;
  while (above + 1 < cause.levels.size() && cause.levels[above].severity < severity) ++above;
  const CauseLevel& high = cause.levels[above];
  if (above == 0) return shift_of(high, data) * (severity / high.severity);
  const CauseLevel& low = cause.levels[above - 1];
  const double share = (severity - low.severity) / (high.severity - low.severity);
  return (1 - share) * shift_of(low, data) + share * shift_of(high, data);
}

const CauseLevel& nearest(const Cause& cause, double severity) {
  return *std::ranges::min_element(cause.levels, {}, [&](const CauseLevel& level) {
    return std::abs(level.severity - severity);
  });
}

Hypothesis hypothesis_of(const Cause& cause, const CauseData& data) {
  Hypothesis made{cause.id, cause.name, cause.check, cause.prior, cause.of_bench, {}};
  const int steps = static_cast<int>(std::lround(kSeverityMost / kSeverityStep));
  for (int i = 1; i <= steps; ++i) {
    const double severity = i * kSeverityStep;
    made.points.push_back(
        {severity, 1.0 / steps, shift_at(cause, data, severity), nearest(cause, severity).sign});
  }
  return made;
}

Hypothesis bench_channel(const Context& context, const std::string& cause, const VectorXd& column) {
  const std::string channel = cause.substr(cause.rfind('/') + 1);
  Hypothesis made{"bench_" + channel,
                  "the " + words_of_channel(context.bench, channel).name + " channel of bench " +
                      context.bench.id,
                  "run a reference unit on this bench",
                  kBenchPrior,
                  true,
                  {}};
  double total = 0;
  for (double a = -kBenchMost; a <= kBenchMost; a += kBenchStep) {
    const double weight = std::exp(-a * a / (2 * kBenchSpread * kBenchSpread));
    made.points.push_back({a, weight, column * a, ""});
    total += weight;
  }
  for (HypothesisPoint& point : made.points) point.weight /= total;
  return made;
}

}  // namespace

double cause_residual(const CauseReading& reading, double value) {
  return reading.logarithmic ? std::asinh(value / reading.healthy) - std::asinh(1.0)
                             : value / reading.healthy - 1;
}

Eigen::MatrixXd CauseData::covariance_at(const VectorXd& shift) const {
  Eigen::MatrixXd at = covariance;
  for (Index i = 0; i < shift.size(); ++i) at(i, i) += kShapeRel * kShapeRel * shift[i] * shift[i];
  return at;
}

CauseData cause_data(const CauseTable& table, const RawTrace& trace, const Evaluation& evaluation) {
  CauseData data;
  data.sign = cause_sign(trace);
  const std::vector<NamedReading> readings = cause_readings(evaluation);
  std::vector<double> residuals;
  for (std::size_t i = 0; i < table.readings.size(); ++i) {
    const NamedReading* found = find(readings, table.readings[i].id);
    if (found == nullptr) continue;
    data.rows.push_back(i);
    residuals.push_back(cause_residual(table.readings[i], found->value));
  }
  const Index n = static_cast<Index>(residuals.size());
  data.residual = Eigen::Map<const VectorXd>(residuals.data(), n);
  data.covariance = Eigen::MatrixXd::Zero(n, n);
  for (Index i = 0; i < n; ++i)
    for (Index j = 0; j < n; ++j)
      data.covariance(i, j) = learned(table, data.rows[static_cast<std::size_t>(i)],
                                      data.rows[static_cast<std::size_t>(j)]) +
                              (i == j ? kFloor * kFloor : 0);
  for (const auto& [cause, column] : columns_of(table, data, evaluation))
    data.covariance += column * column.transpose();
  return data;
}

std::vector<Hypothesis> hypotheses(const Context& context, const CauseData& data,
                                   const Evaluation& evaluation) {
  std::vector<Hypothesis> all;
  for (const Cause& cause : context.causes.causes) all.push_back(hypothesis_of(cause, data));
  all.push_back({kOrdinary,
                 "no single part: good parts at the edge of their scatter",
                 "",
                 1,
                 false,
                 {{0, 1, VectorXd::Zero(data.residual.size()), ""}}});
  for (const auto& [cause, column] : columns_of(context.causes, data, evaluation))
    if (cause.starts_with(kCalibration) && cause.find('/') != std::string::npos)
      all.push_back(bench_channel(context, cause, column));
  return all;
}

}  // namespace endgate::analysis
