// What could have been wrong, and what would each have made of this test's readings?
//
//   learned cause   shift_k(s), s on a grid from kSeverityStep to kSeverityMost, evenly likely
//   bench channel   a * (what one u of its calibration does to the readings), a ~ N(0,
//   kBenchSpread^2):
//                   an error far beyond the stated one
//   ordinary        no shift: good parts that meet at the edge of their scatter
//
// All are held against the residuals y of this test with covariance
//
//   C(s) = learned scatter + sum c c' + diag(kFloor^2 + (kShapeRel shift_i(s))^2)
//
// c: the nuisance columns, one per stated cause of uncertainty of the metrics (calibration of each
// channel, constants, corrections); the last term is what interpolation and the unit's own make of
// a signature.  Readings that are missing drop out.

#pragma once

#include <Eigen/Dense>
#include <string>
#include <vector>

#include "analysis/cause_table.h"
#include "analysis/context.h"
#include "analysis/evaluation.h"
#include "analysis/raw_trace.h"

namespace endgate::analysis {

struct HypothesisPoint {
  double severity = 0;
  double weight = 1;  // of the prior, within the hypothesis
  Eigen::VectorXd shift;
  std::string sign;
};

struct Hypothesis {
  std::string id, name, check;
  double prior = 1;
  bool of_bench = false;
  std::vector<HypothesisPoint> points;
};

// Residuals and covariance of the readings that this test has, and their place in the table.
struct CauseData {
  std::vector<std::size_t> rows;
  Eigen::VectorXd residual;
  Eigen::MatrixXd covariance;  // without the term of the shift
  std::string sign;

  [[nodiscard]] Eigen::MatrixXd covariance_at(const Eigen::VectorXd& shift) const;
};

[[nodiscard]] CauseData cause_data(const CauseTable& table, const RawTrace& trace,
                                   const Evaluation& evaluation);

[[nodiscard]] std::vector<Hypothesis> hypotheses(const Context& context, const CauseData& data,
                                                 const Evaluation& evaluation);

// y of (1) in cause_table.h.
[[nodiscard]] double cause_residual(const CauseReading& reading, double value);

inline constexpr const char* kOrdinary = "ordinary";
inline constexpr const char* kUnexplained = "unexplained";

}  // namespace endgate::analysis
