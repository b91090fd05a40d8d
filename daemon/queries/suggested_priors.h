// Which priors do the findings of repairs suggest for a model's list of causes?
//
//   prior_i = (n_i + p_i/p) K/(N + K)
//
//   n_i findings of cause i of N in all, K causes of the unit in the list, p_i their priors now, p
//   the mean of those.  Every cause counts as if it had been found once more, as its prior now has
//   it: few findings move little, and no cause that was never found is ruled out.
//
// Only printed: a person reads them, writes them into the file and accepts it as any other.  A
// prior colours the ranking of likely causes and touches no verdict.  Causes of the bench keep
// theirs; a repair of a unit finds none of them.

#pragma once

#include <string>
#include <vector>

#include "analysis/cause_table.h"
#include "daemon/queries/cause_agreement.h"

namespace endgate::daemon {

struct SuggestedPrior {
  std::string id{};
  double now = 1, suggested = 1;
  std::int64_t found = 0;
};

// In the order of the list; findings that are not of it are left out.
[[nodiscard]] std::vector<SuggestedPrior> suggested_priors(const CauseAgreement& told,
                                                           const analysis::CauseTable& list);

// Lines for the causes file, with what they rest on as remarks.
[[nodiscard]] std::vector<std::string> lines_of(const std::vector<SuggestedPrior>& priors);

}  // namespace endgate::daemon
