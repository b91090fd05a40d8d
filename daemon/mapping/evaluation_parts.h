// Which part of an evaluation becomes which part of a record?  One function a part, and back for
// metrics and the curve as drawn, which later tests of the serial are combined with.

#pragma once

#include "analysis/evaluation.h"
#include "schema/facts.h"

namespace endgate::daemon {

[[nodiscard]] schema::MetricValue metric_value(const analysis::Metric& metric);
[[nodiscard]] analysis::Metric metric_of(const schema::MetricValue& stored);
[[nodiscard]] schema::LimitAsWas limit_as_was(const analysis::LimitOutcome& outcome);
[[nodiscard]] schema::PointAsReduced point_as_reduced(const analysis::OperatingPoint& point);
[[nodiscard]] schema::CurveAsFitted curve_as_fitted(const analysis::Curve& curve);
[[nodiscard]] schema::DrawnPoint drawn_point(const analysis::DrawnPoint& point);
[[nodiscard]] analysis::DrawnPoint drawn_point(const schema::DrawnPoint& stored);
[[nodiscard]] schema::CauseStated cause_stated(const analysis::LikelyCause& cause);
// "Piston rings, 81 %"; empty without a cause.
[[nodiscard]] std::string likely_cause_words(const std::vector<analysis::LikelyCause>& causes);
[[nodiscard]] schema::HealthAsFound health_as_found(const analysis::ChannelHealth& health);

// "good", "silent", ...: the reason code without its family.
[[nodiscard]] std::string word_of(analysis::HealthState state);

// StoreFault::damaged for a word that is none.
[[nodiscard]] analysis::Verdict verdict_of(const std::string& word);

}  // namespace endgate::daemon
