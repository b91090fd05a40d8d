#include "daemon/definitions/context_of.h"

#include <algorithm>

#include "analysis/conclusion.h"
#include "analysis/limit_subject.h"
#include "daemon/definitions/fit.h"
#include "daemon/definitions/number_range.h"

namespace endgate::daemon {
namespace {

std::string fact_id(DefinitionKind kind, const std::string& subject, int version) {
  return std::string(name_of(kind)) + " " + subject + "@" + std::to_string(version);
}

// Each step fills its part and returns what is missing; empty when nothing is.
class Join {
 public:
  Join(const BenchDefinition& bench, const CalibrationFacts& calibration, int version)
      : bench_(bench),
        calibration_(calibration),
        id_(fact_id(DefinitionKind::calibration, calibration.bench, version)) {}

  std::string channels(std::vector<analysis::ChannelFacts>& into) const {
    for (const ChannelDefinition& channel : bench_.channels) {
      into.push_back(channel.facts);
      // Silence is a matter of the steady clock; on a bench that runs fast more bench time passes.
      if (bench_.clock) into.back().silent_after_s *= bench_.clock->declared_rate;
      const std::string missing = calibrate(into.back());
      if (!missing.empty()) return missing;
    }
    return {};
  }

  std::string receivers(std::vector<analysis::Receiver>& into) const {
    for (const ReceiverDefinition& receiver : bench_.receivers) {
      const auto found =
          std::ranges::find(calibration_.receivers, receiver.name, &analysis::Receiver::name);
      if (found == calibration_.receivers.end())
        return "the calibration of bench " + bench_.id + " has no constants of receiver \"" +
               receiver.name + "\"";
      into.push_back(*found);
      into.back().constants = id_;
    }
    return {};
  }

  void constants(analysis::BenchFacts& into) const {
    if (bench_.current_waveform) into.current_waveform = bench_.current_waveform->facts;
    into.seal_volume_m3 = calibration_.seal_volume_m3;
    into.u_seal_volume_rel = calibration_.u_seal_volume_rel;
    into.fixture_back_leak_m3_s = calibration_.fixture_back_leak_m3_s;
    into.u_fixture_back_leak_m3_s = calibration_.u_fixture_back_leak_m3_s;
    into.fixture_seal_leak_m3_s = calibration_.fixture_seal_leak_m3_s;
    into.u_fixture_seal_leak_m3_s = calibration_.u_fixture_seal_leak_m3_s;
  }

 private:
  std::string calibrate(analysis::ChannelFacts& facts) const {
    for (std::size_t i = 0; i < calibration_.channels.size(); ++i) {
      if (calibration_.channels[i].first != facts.id) continue;
      facts.calibration = calibration_.channels[i].second;
      facts.calibration.id = id_;
      return unit_differs(facts, i);
    }
    return "bench " + bench_.id + " has no calibration of channel \"" + facts.id + "\"";
  }

  std::string unit_differs(const analysis::ChannelFacts& facts, std::size_t index) const {
    const std::string unit(analysis::kRoles[static_cast<std::size_t>(facts.role)].si_unit);
    if (calibration_.channel_units.at(index) == unit) return {};
    return "the calibration of channel \"" + facts.id + "\" is in " +
           calibration_.channel_units[index] + ", the channel in " + unit;
  }

  const BenchDefinition& bench_;
  const CalibrationFacts& calibration_;
  std::string id_;
};

std::string subjects_differ(const BenchDefinition& bench, const ModelDefinition& model,
                            const CalibrationFacts& calibration, const CorrectionFacts& corrections,
                            const LimitFacts& limits) {
  if (calibration.bench != bench.id)
    return "the calibration is of bench " + calibration.bench + ", not of " + bench.id;
  if (corrections.model != model.id)
    return "the corrections are of model " + corrections.model + ", not of " + model.id;
  if (limits.model != model.id)
    return "the limits are of model " + limits.model + ", not of " + model.id;
  if (limits.limits.limits.empty()) return "model " + model.id + " has no limits";
  return {};
}

bool asks_for(const ModelDefinition& model, std::string_view metric) {
  return std::ranges::find(model.metrics, metric) != model.metrics.end();
}

// The curve is known between the lowest hold and the highest, as far as it is drawn.
bool reaches(const ModelDefinition& model, double gauge_pa) {
  bool below = false, above = false;
  for (const StepDefinition& step : model.sequence) {
    if (step.kind != analysis::StepKind::hold) continue;
    below = below || step.target_gauge_pa <= gauge_pa;
    above = above || step.target_gauge_pa >= gauge_pa;
  }
  return below && above && gauge_pa <= analysis::kDrawnTo_pa;
}

// A limit on what the model does not measure could never be met.
std::string not_measured(const ModelDefinition& model, const analysis::Limit& limit) {
  const auto not_asked = [&](std::string_view metric) {
    return "the limits name metric \"" + std::string(metric) + "\", which model " + model.id +
           " does not ask for";
  };
  if (limit.metric == analysis::kCurveSubject) {
    for (const analysis::BandPoint& point : limit.points)
      if (!reaches(model, point.gauge_pa))
        return "the band of the curve has a point at " + plain_number(point.gauge_pa / 1000) +
               " kPa gauge, which lies outside the holds of model " + model.id + " or above the " +
               plain_number(analysis::kDrawnTo_pa / 1000) + " kPa to which a curve is drawn";
    return {};
  }
  if (const auto relation = analysis::relation_in(limit.metric)) {
    for (const std::string_view metric : {relation->metric, relation->against})
      if (!asks_for(model, metric)) return not_asked(metric);
    return {};
  }
  return asks_for(model, limit.metric) ? std::string() : not_asked(limit.metric);
}

std::string limit_without_metric(const ModelDefinition& model, const LimitFacts& facts) {
  std::vector<analysis::Limit> all = facts.limits.limits;
  for (const analysis::LimitClass& one : facts.limits.classes)
    all.insert(all.end(), one.limits.begin(), one.limits.end());
  for (const analysis::Limit& limit : all)
    if (std::string complaint = not_measured(model, limit); !complaint.empty()) return complaint;
  return {};
}

analysis::ModelFacts facts_of(const ModelDefinition& model, const CorrectionFacts& corrections,
                              const AcceptedVersions& versions) {
  analysis::ModelFacts facts;
  facts.id = model.id;
  facts.definition = fact_id(DefinitionKind::model, model.id, versions.model);
  facts.nominal = model.nominal;
  facts.reference = model.reference;
  facts.thermal = corrections.thermal;
  facts.thermal.id = fact_id(DefinitionKind::corrections, model.id, versions.corrections);
  facts.steady = model.steady;
  facts.metrics = model.metrics;
  facts.ripple = model.ripple;
  facts.service = model.service;
  return facts;
}

analysis::LimitSet limits_of(const LimitFacts& facts, int version) {
  analysis::LimitSet limits = facts.limits;
  limits.id = fact_id(DefinitionKind::limits, facts.model, version);
  limits.version = version;
  return limits;
}

std::string first_of(std::initializer_list<std::string> complaints) {
  for (const std::string& complaint : complaints)
    if (!complaint.empty()) return complaint;
  return {};
}

}  // namespace

std::variant<analysis::Context, std::string> context_of(
    const BenchDefinition& bench, const ModelDefinition& model, const CalibrationFacts& calibration,
    const CorrectionFacts& corrections, const LimitFacts& limits, const AcceptedVersions& versions,
    const CauseFacts* causes) {
  analysis::Context context;
  const Join join(bench, calibration, versions.calibration);
  const std::vector<std::string> misfits = misfits_of(bench, model);
  const std::string complaint = first_of(
      {subjects_differ(bench, model, calibration, corrections, limits),
       misfits.empty() ? std::string() : misfits.front(), join.channels(context.bench.channels),
       join.receivers(context.bench.receivers), limit_without_metric(model, limits)});
  if (!complaint.empty()) return complaint;
  context.bench.id = bench.id;
  context.bench.definition = fact_id(DefinitionKind::bench, bench.id, versions.bench);
  context.bench.meter_reference_temperature_k = bench.meter_reference_temperature_k;
  context.bench.meter_reference_pressure_pa = bench.meter_reference_pressure_pa;
  join.constants(context.bench);
  context.model = facts_of(model, corrections, versions);
  context.limits = limits_of(limits, versions.limits);
  if (causes != nullptr) {
    if (causes->model != model.id)
      return "the causes are of model " + causes->model + ", not of " + model.id;
    context.causes = causes->table;
    context.causes.id = fact_id(DefinitionKind::causes, model.id, versions.causes);
  }
  return context;
}

}  // namespace endgate::daemon
