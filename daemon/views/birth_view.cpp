#include "daemon/views/birth_view.h"

#include "analysis/say_number.h"
#include "daemon/views/shown.h"
#include "reports/number.h"

namespace endgate::daemon {
namespace {

constexpr int kPlacesWithoutU = 2;

// "−5.6 ± 0.5 L/min"
std::string change_words(const analysis::Difference& one) {
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

}  // namespace

void add_against_birth(reports::UnitPage& page, const AgainstBirth& against) {
  page.against_birth = against.sentence;
  if (!against.taken_out.empty())
    page.taken_out = "What is common to both was taken out: " + against.taken_out + ".";
  for (const analysis::Difference& one : against.differences)
    page.changes.push_back({.name = metric_name_brief(one.metric),
                            .change = change_words(one),
                            .weight = weight_words(one),
                            .meaning = meaning_of(one),
                            .significant = one.significant()});
}

}  // namespace endgate::daemon
