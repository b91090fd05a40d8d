// A store of batches on two benches whose history is known: what pages about many tests are asked.

#pragma once

#include <random>
#include <string>

#include "schema/store.h"
#include "tests/support/made_facts.h"
#include "tests/support/temporary_folder.h"

namespace endgate::test {

struct HistoryPlan {
  int batches = 14, units = 10;
  double product_shift = 0;  // of the flow, from batch `shift_from` on, with a new lot of reeds
  double bench_shift = 0;    // of the flow on bench south, from there on
  int shift_from = 8;
};

// Model P1-60-12, metric fad_400 of 48 L/min with 1 % scatter, at least 42 L/min; every tenth unit
// fails with a likely cause, serials "b<batch>-<unit>"; a reference unit on each bench per batch.
class BatchHistory {
 public:
  void keep(const std::string& serial, const std::string& batch, const std::string& bench,
            const std::string& purpose, std::int64_t attempt, double flow_m3_s) {
    schema::Record record;
    record.start = made_start(serial, attempt);
    record.start.batch = batch;
    record.start.bench = bench;
    record.start.purpose = purpose;
    record.start.at.utc_ms = kFirstDayUtcMs + kDayMs * day_;
    record.start_position = writer_.append(record.start);
    const bool fails = serial.ends_with("-9");
    record.verdict = fails ? "fail" : "pass";
    record.standing = "hold";
    record.metrics = {made_metric("fad_400", flow_m3_s)};
    record.limits = {{.metric = "fad_400",
                      .lower = 7e-4,
                      .pass_band = 1e-5,
                      .fail_band = 1e-5,
                      .outcome = record.verdict}};
    if (fails) record.reasons = {{"below_lower", "fad_400", "flow is low"}};
    if (fails) record.causes = {{.causes = {"rings"}, .name = "worn piston ring"}};
    record.context_ids = {"calibration " + bench + "@1", "limits P1-60-12@1"};
    writer_.append(std::move(record), std::nullopt);
  }
  void make(const HistoryPlan& plan) {
    std::mt19937 random(4);
    std::normal_distribution<double> normal(0, 1);
    for (day_ = 0; day_ < plan.batches; ++day_) {
      const std::string batch = "b" + std::to_string(day_);
      const bool late = day_ >= plan.shift_from;
      const auto flow = [&](bool south, double product) {
        return 8e-4 *
               (1 + 0.01 * normal(random) + product + (late && south ? plan.bench_shift : 0));
      };
      for (int unit = 0; unit < plan.units; ++unit)
        keep(batch + "-" + std::to_string(unit), batch, unit % 2 == 0 ? "north" : "south",
             "production", 1, flow(unit % 2 == 1, late ? plan.product_shift : 0));
      for (const char* bench : {"north", "south"})
        keep(std::string("R-") + bench, "", bench, "reference", day_ + 1,
             flow(bench == std::string("south"), 0));
      writer_.append(schema::Lots{.subject_kind = "batch",
                                  .subject = batch,
                                  .parts = {{"reed", late ? "B" : "A"}},
                                  .by = "Ada"});
    }
  }
  template <class Fact>
  schema::Position enter(const Fact& fact) {
    return writer_.append(fact);
  }
  void accept(const schema::Definition& definition) { writer_.append(definition); }
  [[nodiscard]] const std::filesystem::path& folder() const { return folder_.path(); }
  [[nodiscard]] schema::StoreReader reader() const { return schema::StoreReader(folder_.path()); }

  static constexpr std::int64_t kFirstDayUtcMs = 1767225600000;  // 2026-01-01
  static constexpr std::int64_t kDayMs = 86400000;

 private:
  int day_ = 0;
  TemporaryFolder folder_;
  schema::StoreWriter writer_{folder_.path()};
};

}  // namespace endgate::test
