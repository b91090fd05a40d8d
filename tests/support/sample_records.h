// Hand-made records for pages and queries that read a store.  Invented numbers.

#pragma once

#include <string>

#include "schema/facts.h"
#include "tests/support/sample_lines.h"

namespace endgate::test {

inline schema::Record sample_record(const std::string& serial, std::int64_t attempt,
                                    const std::string& look, double shift_l_min = 0) {
  const daemon::LineState line = sample_line(look);
  schema::Record record;
  record.start = {
      .serial = serial,
      .attempt = attempt,
      .model = line.model,
      .bench = "north",
      .batch = line.batch,
      .purpose = attempt == 1 ? "production" : "retest",
      .reason = "",
      .operator_name = "12",
      .at = {.utc_ms = 1795603320000 + attempt * 600000, .synchronised = true, .max_error_us = 900},
      .software = "endgate 0.1.0"};
  record.verdict = line.result->verdict;
  record.standing = line.result->standing;
  record.standing_reason = line.result->standing_reason;
  for (const auto& reason : line.result->reasons)
    record.reasons.push_back({reason.code, reason.subject, reason.sentence});
  const auto is_flow = [](const std::string& id) { return id.starts_with("fad_"); };
  for (const auto& metric : line.result->metrics)
    record.metrics.push_back({metric.id,
                              *metric.value + (is_flow(metric.id) ? shift_l_min / 60000 : 0),
                              metric.u,
                              {{"random", *metric.u}},
                              false,
                              ""});
  record.metrics.push_back(
      {"seal_leak", std::nullopt, std::nullopt, {}, false, "step not reached"});
  for (const auto& limit : line.result->limits)
    record.limits.push_back({limit.metric, limit.lower, limit.upper, limit.pass_band,
                             limit.fail_band, limit.warn, analysis::word_of(limit.verdict),
                             limit.margin, ""});
  for (const auto& point : line.result->drawn)
    record.drawn.push_back(
        {point.gauge_pa, point.flow_m3_s + shift_l_min / 60000, point.u_m3_s, point.extrapolated});
  record.cycle_s = 61.4;
  record.context_ids = {"limits P1-60-12@7", "calibration north@3"};
  record.finished = record.start.at;
  record.software = record.start.software;
  record.simulated = true;
  return record;
}

}  // namespace endgate::test
