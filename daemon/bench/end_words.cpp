#include "daemon/bench/end_words.h"

#include <array>

#include "analysis/grade_words.h"
#include "analysis/say_number.h"

namespace endgate::daemon {

std::string end_words(const EndCondition& end, double value_si) {
  const analysis::Words words = analysis::words_of_role(end.role);
  const std::array bound{words.unit.shown(end.limit_si)};
  const double value = words.unit.shown(value_si);
  const int places = words.unit.decimals;
  const int apart = analysis::places_apart(value, places, bound).value_or(places);
  return "the " + words.name + (end.upper ? " rose above " : " fell below ") +
         with_unit(analysis::say_bound(bound[0], places), words.unit) + ", to " +
         with_unit(analysis::say_number(value, apart), words.unit);
}

std::string alike_words(analysis::Role role, double change_si) {
  const analysis::Words words = analysis::words_of_role(role);
  const double change = words.unit.factor * change_si;
  const std::string number =
      analysis::say_number(change, analysis::places_for(change, words.unit.decimals));
  // A difference of temperatures in kelvin: 0.3 °C would be a temperature.
  const bool celsius = words.unit.offset != 0;
  return "every turn is like the one before: the highest " + words.name + " moved by " +
         (celsius ? number + analysis::kNoBreakSpace + "K"
                  : difference_with_unit(number, words.unit));
}

}  // namespace endgate::daemon
