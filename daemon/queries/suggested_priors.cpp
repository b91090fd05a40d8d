#include "daemon/queries/suggested_priors.h"

#include "daemon/queries/csv.h"

namespace endgate::daemon {

std::vector<SuggestedPrior> suggested_priors(const CauseAgreement& told,
                                             const analysis::CauseTable& list) {
  std::vector<SuggestedPrior> priors;
  double sum = 0;
  std::int64_t findings = 0;
  for (const analysis::Cause& cause : list.causes) {
    if (cause.of_bench) continue;
    const auto found = told.found.find(cause.id);
    priors.push_back({.id = cause.id,
                      .now = cause.prior,
                      .found = found == told.found.end() ? 0 : found->second});
    sum += cause.prior;
    findings += priors.back().found;
  }
  const double causes = static_cast<double>(priors.size());
  const double mean = priors.empty() ? 0 : sum / causes;
  for (SuggestedPrior& prior : priors)
    prior.suggested = (static_cast<double>(prior.found) + (mean > 0 ? prior.now / mean : 1)) *
                      causes / (static_cast<double>(findings) + causes);
  return priors;
}

std::vector<std::string> lines_of(const std::vector<SuggestedPrior>& priors) {
  std::int64_t findings = 0;
  for (const SuggestedPrior& prior : priors) findings += prior.found;
  std::vector<std::string> lines{
      "# Suggested by " + std::to_string(findings) + (findings == 1 ? " finding" : " findings") +
          " of repairs; every cause counts as found once more, as its prior now has it.",
      "# Put each prior under its [[cause]], then accept the file. No verdict changes."};
  for (const SuggestedPrior& prior : priors)
    lines.push_back("id = \"" + prior.id + "\"\nprior = " + csv_number(prior.suggested, 3) +
                    "   # was " + csv_number(prior.now, 3) + ", found " +
                    std::to_string(prior.found) + (prior.found == 1 ? " time" : " times"));
  return lines;
}

}  // namespace endgate::daemon
