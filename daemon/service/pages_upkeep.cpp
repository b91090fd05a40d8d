// The pages of benches, calibrations and alarms.

#include <array>
#include <vector>

#include "daemon/line/upkeep_policy.h"
#include "daemon/line/wall_clock.h"
#include "daemon/service/calibration_form.h"
#include "daemon/service/handlers.h"
#include "daemon/service/page_answer.h"
#include "daemon/service/parameters.h"
#include "daemon/service/store_query.h"
#include "daemon/views/bench_view.h"
#include "reports/page_frame.h"

namespace endgate::daemon::handle {
namespace {

Response not_there(const std::string& sentence) {
  return html(reports::message_page("Benches", "There is no such bench here", sentence), 404);
}

std::vector<schema::Definition> calibrations_of(const schema::StoreReader& store,
                                                const std::string& bench) {
  std::vector<schema::Definition> versions = store.definitions();
  std::erase_if(versions, [&](const schema::Definition& definition) {
    return definition.kind != "calibration" || definition.subject != bench;
  });
  return versions;
}

struct BenchDue {
  BenchKept kept;
  std::vector<UpkeepNotice> notices;
};

BenchDue due_on(const schema::StoreReader& store, const BenchTexts& texts,
                const UpkeepPolicy& policy) {
  const std::int64_t now = wall_clock_now().utc_ms;
  BenchDue due{kept_of_bench(store, texts.bench.id, part_ids(texts.bench), now), {}};
  due.notices = upkeep_notices(texts.bench, &texts.calibration, policy, due.kept, now);
  return due;
}

// What the bench itself is in, not what was last scanned on it.  One that runs a test is in no trouble.
std::string trouble_of(const LineState& line) {
  if (line.phase == LinePhase::out_of_use || line.phase == LinePhase::press_stop)
    return line.message;
  if (line.live.may_be_under_pressure) return "The unit on it may be under pressure.";
  const BenchCondition condition = line.live.condition;
  if (condition == BenchCondition::ready || condition == BenchCondition::running) return "";
  return line.live.condition_text.empty() ? "There is no contact with it."
                                          : line.live.condition_text;
}

Response bench_shown(const schema::StoreReader& store, const std::string& bench,
                     const LineState& line, const UpkeepPolicy& policy) {
  const auto texts = bench_texts(store, bench);
  if (const auto* no = std::get_if<CommandRefusal>(&texts)) return not_there(no->sentence);
  const auto& known = std::get<BenchTexts>(texts);
  const BenchDue due = due_on(store, known, policy);
  return html(page_of(bench_page_of(
      {known, due.kept, due.notices, calibrations_of(store, bench), line.live, trouble_of(line)})));
}

constexpr std::size_t kPointRows = 8;
using PointRows = std::vector<std::array<std::string, 3>>;

PointRows rows_in(const Request& request) {
  PointRows rows;
  for (std::size_t i = 1; i <= kPointRows; ++i) {
    const std::string number = std::to_string(i);
    rows.push_back({query_value(request, "reading" + number),
                    query_value(request, "reference" + number),
                    query_value(request, "u" + number)});
  }
  return rows;
}

std::string lines_of(const PointRows& rows) {
  std::string lines;
  for (const auto& [reading, reference, u] : rows)
    if (!(reading + reference + u).empty()) lines += reading + " " + reference + " " + u + "\n";
  return lines;
}

Response form_shown(const schema::StoreReader& store, CalibrationForm form, PointRows rows,
                    const LineState& line) {
  const auto texts = bench_texts(store, form.bench);
  if (const auto* no = std::get_if<CommandRefusal>(&texts)) return not_there(no->sentence);
  const auto& known = std::get<BenchTexts>(texts);
  if (form.channel.empty() && !known.bench.channels.empty())
    form.channel = known.bench.channels.front().facts.id;
  const auto words = words_of_channel(known.bench, form.channel);
  if (!words) return not_there("Bench " + form.bench + " has no channel " + form.channel + ".");
  reports::CalibratePage page = calibrate_page_of(known, form.channel, line.live);
  page.rows = std::move(rows);
  page.points = form.points;
  page.due = form.due;
  page.by = form.by;
  page.reference = form.reference;
  if (form.points.empty()) return html(page_of(page));
  const Recalibrated made = recalibrated(store, known, form);
  if (const auto* wrong = std::get_if<std::string>(&made))
    page.refusal = *wrong;
  else
    show_fit(page, std::get<Recalibration>(made), *words);
  return html(page_of(page));
}

}  // namespace

namespace {

std::string bench_state(const LineState& line) {
  if (line.phase == LinePhase::running || line.phase == LinePhase::storing)
    return "A test runs: " + line.serial + ".";
  const std::string trouble = trouble_of(line);
  return trouble.empty() ? "In contact, no test runs." : trouble;
}

// A bench without an accepted file has nothing but its state.
reports::BenchListRow list_row(const schema::StoreReader& store, const LineState& line,
                               const UpkeepPolicy& policy) {
  reports::BenchListRow row{
      line.bench_name, "/benches/" + address_part(line.bench), bench_state(line), {}};
  const auto texts = bench_texts(store, line.bench);
  if (std::holds_alternative<CommandRefusal>(texts)) return row;
  const auto& known = std::get<BenchTexts>(texts);
  const BenchKept kept =
      due_on_bench(store, line.bench, check_kinds(known.bench), part_ids(known.bench));
  const auto notices =
      upkeep_notices(known.bench, &known.calibration, policy, kept, wall_clock_now().utc_ms);
  row.lines = lines_of_bench({known, kept, notices, {}, line.live, trouble_of(line)});
  return row;
}

}  // namespace

void benches_page(Application& application, const Request&, const Reply& reply) {
  std::vector<LineState> lines;
  for (const std::string& bench : application.benches())
    if (auto line = application.line(bench)) lines.push_back(std::move(*line));
  ask_store(application, reply,
            [lines, policy = application.upkeep()](const schema::StoreReader& store) {
              std::vector<reports::BenchListRow> rows;
              for (const LineState& line : lines) rows.push_back(list_row(store, line, policy));
              return html(reports::benches_page(rows));
            });
}

void bench_page(Application& application, const Request& request, const Reply& reply) {
  const std::string bench = request.parameters.at("bench");
  const auto line = application.line(bench);
  if (!line) return reply(not_there("The benches are listed at /benches."));
  ask_store(application, reply,
            [bench, line = *line, policy = application.upkeep()](const schema::StoreReader& store) {
              return bench_shown(store, bench, line, policy);
            });
}

void calibrate_page(Application& application, const Request& request, const Reply& reply) {
  const std::string bench = request.parameters.at("bench");
  const auto line = application.line(bench);
  if (!line) return reply(not_there("The benches are listed at /benches."));
  const CalibrationForm form{.bench = bench,
                             .channel = query_value(request, "channel"),
                             .points = lines_of(rows_in(request)),
                             .due = query_value(request, "due"),
                             .by = query_value(request, "by"),
                             .reference = query_value(request, "against")};
  ask_store(application, reply,
            [form, rows = rows_in(request), line = *line](const schema::StoreReader& store) {
              return form_shown(store, form, rows, line);
            });
}

void alarms_page(Application& application, const Request&, const Reply& reply) {
  ask_store(application, reply, [](const schema::StoreReader& store) {
    const std::vector<KeptAlarm> open = store.open_alarms();
    std::vector<std::int64_t> since;
    for (const KeptAlarm& alarm : open)
      since.push_back(store.alarm_history(opened_by(alarm)).front().fact.at.utc_ms);
    return html(reports::alarms_page(alarm_rows(open, since)));
  });
}

}  // namespace endgate::daemon::handle
