#include "daemon/views/birth_view.h"

#include <algorithm>

#include "analysis/say_number.h"
#include "daemon/views/shown.h"
#include "reports/number.h"

namespace endgate::daemon {
namespace {

constexpr int kPlacesWithoutU = 2;

// "−5.6 ± 0.5 L/min"
std::string with_u_words(const std::string& metric, double si, const std::optional<double>& u) {
  const double change = shown_size(metric, si);
  const double wide = u ? 2 * shown_size(metric, *u) : 0;
  const int places = analysis::places_for(wide, kPlacesWithoutU);
  std::string words = (change > 0 ? "+" : "") + analysis::say_number(change, places);
  if (u) words += " ± " + analysis::say_number(wide, places);
  return words + reports::kNoBreak + metric_unit(metric);
}

std::string difference_words(const analysis::Difference& one) {
  return with_u_words(one.metric, one.change, one.u);
}

std::string bench_words(const analysis::Difference& one) {
  return one.bench ? with_u_words(one.metric, *one.bench, one.bench_u) : "not known";
}

std::string weight_words(const analysis::Difference& one) {
  return one.e_n ? analysis::say_number(*one.e_n, 1) : reports::kMissing;
}

std::string meaning_of(const analysis::Difference& one) {
  if (!one.e_n) return "not known";
  return one.significant() ? "more than its uncertainty" : "within its uncertainty";
}

std::string signed_number(double shown, int places) {
  return (shown > 0 ? "+" : "") + analysis::say_number(shown, places);
}

// "−6.1 to −2.0 L/min, 7 units"
std::string band_words(const EarlierReturns::Band* band, const std::optional<double>& u) {
  if (band == nullptr) return "none";
  const std::string units = std::to_string(band->units) + (band->units == 1 ? " unit" : " units");
  if (!band->told()) return "too few: " + units;
  const int places =
      analysis::places_for(u ? 2 * shown_size(band->metric, *u) : 0, kPlacesWithoutU);
  return signed_number(shown_size(band->metric, band->low), places) + " to " +
         signed_number(shown_size(band->metric, band->high), places) + reports::kNoBreak +
         metric_unit(band->metric) + ", " + units;
}

}  // namespace

std::vector<reports::ChangeRow> change_rows(const AgainstBirth& against,
                                            const EarlierReturns* earlier) {
  std::vector<reports::ChangeRow> rows;
  for (const analysis::Difference& one : against.differences) {
    rows.push_back({.name = metric_name_brief(one.metric),
                    .change = difference_words(one),
                    .weight = weight_words(one),
                    .meaning = meaning_of(one),
                    .significant = one.significant(),
                    .bench = bench_words(one)});
    if (earlier != nullptr) rows.back().earlier = band_words(band_of(*earlier, one.metric), one.u);
  }
  return rows;
}

reports::UnitPage with_birth(reports::UnitPage page, const schema::StoreReader& store,
                             const UnitHistory& unit, const schema::StoredRecord& chosen) {
  const auto against = against_birth(store, unit, chosen);
  if (!against) return page;
  page.against_birth = against->sentence;
  if (!against->taken_out.empty())
    page.taken_out = "What is common to both was taken out: " + against->taken_out + ".";
  const auto earlier = earlier_returns(store, unit, chosen);
  if (earlier) page.earlier_returns = words_of(*earlier);
  page.changes = change_rows(*against, earlier ? &*earlier : nullptr);
  page.bench_taken_out = std::ranges::any_of(
      against->differences, [](const analysis::Difference& one) { return one.bench.has_value(); });
  return page;
}

}  // namespace endgate::daemon
