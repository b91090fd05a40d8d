#include "daemon/views/birth_view.h"

#include <algorithm>

#include "analysis/say_number.h"
#include "daemon/views/shown.h"
#include "reports/number.h"

namespace endgate::daemon {
namespace {

constexpr int kPlacesWithoutU = 2;

// "−5.6 ± 0.5 L/min"
std::string difference_words(const analysis::Difference& one) {
  const double change = shown_size(one.metric, one.change);
  const double wide = one.u ? 2 * shown_size(one.metric, *one.u) : 0;
  const int places = analysis::places_for(wide, kPlacesWithoutU);
  std::string words = (change > 0 ? "+" : "") + analysis::say_number(change, places);
  if (one.u) words += " ± " + analysis::say_number(wide, places);
  return words + reports::kNoBreak + metric_unit(one.metric);
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

void add_against_birth(reports::UnitPage& page, const AgainstBirth& against) {
  page.against_birth = against.sentence;
  if (!against.taken_out.empty())
    page.taken_out = "What is common to both was taken out: " + against.taken_out + ".";
  for (const analysis::Difference& one : against.differences)
    page.changes.push_back({.name = metric_name_brief(one.metric),
                            .change = difference_words(one),
                            .weight = weight_words(one),
                            .meaning = meaning_of(one),
                            .significant = one.significant()});
}

reports::UnitPage with_earlier_returns(reports::UnitPage page, const schema::StoreReader& store,
                                       const UnitHistory& unit,
                                       const schema::StoredRecord& chosen) {
  const auto against = against_birth(unit, chosen);
  if (!against) return page;
  const auto earlier = earlier_returns(store, unit, chosen);
  if (!earlier) return page;
  page.earlier_returns = words_of(*earlier);
  for (std::size_t i = 0; i < std::min(page.changes.size(), against->differences.size()); ++i) {
    const analysis::Difference& one = against->differences[i];
    page.changes[i].earlier = band_words(band_of(*earlier, one.metric), one.u);
  }
  return page;
}

}  // namespace endgate::daemon
