#include "daemon/views/buyer_view.h"

#include <algorithm>
#include <array>

#include "analysis/fill_time.h"
#include "analysis/say_number.h"
#include "reports/number.h"

namespace endgate::daemon {
namespace {

constexpr double kReferenceInlet_pa = 100000;  // of the curve as drawn

struct NamedVessel {
  const char* name;
  analysis::FillVessel vessel;
};
// Sizes a buyer knows.  The volume of a tyre is an estimate, and grows with its pressure.
constexpr std::array<NamedVessel, 2> kVessels{{
    {"Vessel of 10 L, 0 to 600 kPa",
     {.volume_m3 = 0.010, .u_volume_rel = 0, .from_gauge_pa = 0, .to_gauge_pa = 600e3}},
    {"Large tyre, 120 L, 110 to 240 kPa",
     {.volume_m3 = 0.120, .u_volume_rel = 0.05, .from_gauge_pa = 110e3, .to_gauge_pa = 240e3}},
}};

std::string words(const analysis::FillTime& time) {
  const double expanded = 2 * time.u_isothermal_s;
  const int places = std::max(analysis::places_for(expanded, 0), 0);
  return reports::fixed(time.isothermal_s, places) + " ± " + reports::fixed(expanded, places) +
         reports::kNoBreak + "s when the vessel gives off its heat, " +
         reports::fixed(time.adiabatic_s, places) + reports::kNoBreak + "s when it keeps it";
}

}  // namespace

std::vector<reports::NamedFact> fill_times_of(const schema::Record& record) {
  std::vector<analysis::DrawnPoint> drawn;
  for (const schema::DrawnPoint& point : record.drawn)
    drawn.push_back({point.gauge_pa, point.flow_m3_s, point.u_m3_s, point.extrapolated});
  std::vector<reports::NamedFact> facts;
  for (const NamedVessel& one : kVessels)
    if (const auto time = analysis::fill_time(drawn, one.vessel, kReferenceInlet_pa))
      facts.push_back({one.name, words(*time)});
  return facts;
}

}  // namespace endgate::daemon
