#include "analysis/rise_end.h"

#include <cmath>

namespace endgate::analysis {
namespace {

double gauge_pa(const HoldWindow& hold) {
  return hold.moments[index_of(Role::discharge_pressure)].mean;
}

std::optional<std::size_t> last_stretch(const Survey& survey) {
  std::optional<std::size_t> last;
  for (std::size_t i = 0; i < survey.holds.size(); ++i)
    if (survey.holds[i].rising && survey.holds[i].window) last = i;
  return last;
}

}  // namespace

std::optional<RiseEnd> rise_end(const Survey& survey) {
  const std::optional<std::size_t> stretch = last_stretch(survey);
  if (!stretch || *stretch == 0 || !survey.usable(Role::discharge_pressure)) return std::nullopt;
  const HoldWindow& rise = survey.holds[*stretch];
  const HoldWindow& before = survey.holds[*stretch - 1];
  if (!before.rising || !before.window || before.step != rise.step) return std::nullopt;
  if (!(rise.moments[index_of(Role::discharge_pressure)].slope_s > 0)) return std::nullopt;
  for (std::size_t i = 0; i < survey.holds.size(); ++i) {
    const HoldWindow& hold = survey.holds[i];
    if (hold.rising || !hold.window || hold.window->start_s < rise.window->end_s) continue;
    if (std::abs(gauge_pa(hold) - gauge_pa(rise)) <= kLeadsTo_pa)
      return RiseEnd{*stretch - 1, *stretch, i};
  }
  return std::nullopt;
}

double gap_of(const OnTheWay& rise, const AtRest& hold) {
  const double on_s = (hold.gauge_pa - rise.gauge_pa) / rise.gauge_slope_pa_s;
  return hold.level - (rise.level + rise.slope_s * on_s);
}

}  // namespace endgate::analysis
