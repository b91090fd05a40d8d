#include "daemon/queries/endurance_told.h"

#include <algorithm>

#include "analysis/say_number.h"
#include "daemon/queries/tests_shown.h"

namespace endgate::daemon {
namespace {

using analysis::say_number;

const schema::MetricValue* value_in(const schema::Record& record, const std::string& metric) {
  const auto found = std::ranges::find(record.metrics, metric, &schema::MetricValue::id);
  return found == record.metrics.end() || !found->value ? nullptr : &*found;
}

class Path {
 public:
  explicit Path(EnduranceTold& told) : told_(told) {}

  void see(const schema::Record& record) {
    const std::int64_t utc_ms = record.start.at.utc_ms;
    if (first_utc_ms_ == 0) first_utc_ms_ = utc_ms;
    const schema::MetricValue* found = value_in(record, std::string(told_.metric->id));
    if (record.verdict != "void" && found != nullptr)
      told_.points.push_back(
          {.attempt = record.start.attempt,
           .started_utc_ms = utc_ms,
           .bench = record.start.bench,
           .purpose = record.start.purpose,
           .time_s = told_.over_days ? static_cast<double>(utc_ms - first_utc_ms_) / 1e3 : run_s_,
           .value = *found->value,
           .u = found->u});
    if (!record.cycle_s) ++told_.no_time;
    run_s_ += record.cycle_s.value_or(0);
  }

 private:
  EnduranceTold& told_;
  double run_s_ = 0;
  std::int64_t first_utc_ms_ = 0;
};

void add_limit(EnduranceTold& told, const std::optional<double>& bound, bool lower) {
  if (!bound) return;
  const double now = told.path->value_at(told.path->last_time);
  told.limits.push_back({.lower = lower,
                         .at = *bound,
                         .now = lower ? now < *bound : now > *bound,
                         .time = statistics::time_to_limit(*told.path, *bound)});
}

std::string level_in(const EnduranceTold& told, double si) {
  return say_number(si * told.metric->factor + told.metric->offset, told.metric->decimals + 1) +
         "\u00A0" + std::string(told.metric->display_unit);
}

std::string time_words(const EnduranceTold& told, double seconds) {
  const double shown = seconds / (told.over_days ? kDay_s : kHour_s);
  return say_number(shown, shown < 10    ? 2
                           : shown < 100 ? 1
                                         : 0) +
         (told.over_days ? " days" : " h");
}

std::string path_words(const EnduranceTold& told) {
  const statistics::Degradation& path = *told.path;
  const statistics::Interval first = path.line_at(0), last = path.line_at(path.last_time);
  const std::string shape = path.form == statistics::PathForm::straight ? "in a straight line"
                            : path.form == statistics::PathForm::root   ? "with the root of time"
                                                                        : "with the square of time";
  std::string words =
      analysis::capitalised(std::string(told.metric->sentence_name)) + " of " + told.serial + ": ";
  if (!path.moves())
    return words + "no change can be told apart from the scatter of single tests over " +
           time_words(told, path.last_time) + ".";
  return words + "from " + level_in(told, path.value_at(0)) + " (" + level_in(told, first.low) +
         " to " + level_in(told, first.high) + ") to " +
         level_in(told, path.value_at(path.last_time)) + " (" + level_in(told, last.low) + " to " +
         level_in(told, last.high) + ") after " + time_words(told, path.last_time) + ", " + shape +
         ".";
}

std::string limit_words(const EnduranceTold& told, const LimitReached& limit) {
  const std::string name = std::string("Its ") + (limit.lower ? "lower" : "upper") + " limit of " +
                           level_in(told, limit.at);
  const statistics::TimeToLimit& time = limit.time;
  if (limit.now) return name + ": the line is beyond it already.";
  const bool falls = told.path->slope < 0;
  if (told.path->moves() && falls != limit.lower) return name + ": it moves away from it.";
  const bool towards = time.time && *time.time >= told.path->last_time;
  if (towards && told.path->moves() && time.not_after)
    return name + " is reached after " + time_words(told, *time.time) + " (" +
           time_words(told, time.not_before) + " to " + time_words(told, *time.not_after) +
           "), if it goes on as it did" +
           (*time.time > 3 * told.path->last_time
                ? "; that is more than three times as long as it was watched."
                : ".");
  if (time.not_before > told.path->last_time)
    return name + ": not before " + time_words(told, time.not_before) + "; when, cannot be told.";
  return name + ": when it is reached cannot be told.";
}

}  // namespace

EnduranceTold endurance_of(const schema::StoreReader& store, const std::string& serial,
                           const std::string& metric, bool over_days) {
  EnduranceTold told{
      .metric = analysis::facts_of_metric(metric), .serial = serial, .over_days = over_days};
  const schema::Position repaired = store.last_repair_position(serial);
  Path path(told);
  for (const schema::StoredRecord& stored : store.records_of(serial)) {
    told.model = stored.record.start.model;
    if (stored.position < repaired)
      ++told.before_repair;
    else
      path.see(stored.record);
  }
  std::vector<statistics::MeasuredAt> points;
  for (const EndurancePoint& point : told.points) points.push_back({point.time_s, point.value});
  if (const auto found = statistics::degradation_of(points))
    told.path = *found;
  else
    told.no_path = found.error().detail;
  const auto held = limit_held_last(store, told.model, metric);
  if (!held) return told;
  told.lower_si = held->bounds.lower;
  told.upper_si = held->bounds.upper;
  if (!told.path) return told;
  add_limit(told, told.lower_si, true);
  add_limit(told, told.upper_si, false);
  return told;
}

std::vector<std::string> words_of(const EnduranceTold& told) {
  std::vector<std::string> words;
  if (told.model.empty()) return {"There is no test of " + told.serial + " here."};
  words.push_back(told.path ? path_words(told)
                            : "Nothing can be told of how it moves: " + told.no_path + ".");
  for (const LimitReached& limit : told.limits) words.push_back(limit_words(told, limit));
  words.push_back(std::to_string(told.points.size()) +
                  (told.points.size() == 1 ? " test" : " tests") + " with a value, over " +
                  (told.over_days ? "days since the first."
                                  : "hours on benches before each test, rests included."));
  if (!told.points.empty())
    words.emplace_back(
        "A bench that drifted meanwhile shows here as if the unit had moved: see its reference "
        "units.");
  if (told.before_repair > 0)
    words.push_back(std::to_string(told.before_repair) +
                    " tests before its last repair are left out.");
  if (told.no_time > 0 && !told.over_days)
    words.push_back("The duration of " + std::to_string(told.no_time) +
                    " tests is not known; they count as no time.");
  return words;
}

}  // namespace endgate::daemon
