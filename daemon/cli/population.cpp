// `endgate capability METRIC`, `endgate yield`, `endgate risk`, `endgate what-if METRIC`

#include <iostream>

#include "daemon/cli/asked_tests.h"
#include "daemon/cli/commands.h"
#include "daemon/cli/exit_status.h"
#include "daemon/cli/store_place.h"
#include "daemon/queries/fail_causes.h"
#include "daemon/queries/population_words.h"
#include "daemon/queries/unit_risk_told.h"

namespace endgate::daemon {
namespace {

int tell(const std::vector<std::string>& words) {
  for (const std::string& line : words) std::cout << line << "\n";
  return kOk;
}

std::optional<double> to_si(const analysis::MetricFacts& facts,
                            const std::optional<double>& shown) {
  if (!shown) return std::nullopt;
  return (*shown - facts.offset) / facts.factor;
}

// `tell_of` the filter, once the question can be asked.
template <class TellOf>
int about(const StorePlace& place, const TestsAsked& asked, TellOf tell_of) {
  const schema::StoreReader store(store_folder(place));
  const auto filter = filter_asked(store, asked);
  if (!filter) return kUsage;
  return tell_of(store, *filter);
}

}  // namespace

int run_command(const CapabilityCommand& command) {
  return about(command.store, command.asked, [&](const auto& store, const TrendFilter& filter) {
    return tell(words_of(*capability_of(store, filter, command.asked.metric)));
  });
}

int run_command(const YieldCommand& command) {
  return about(command.store, command.asked, [&](const auto& store, const TrendFilter& filter) {
    tell(words_of(yield_of(store, filter, {shift_begins_min(command.store)})));
    return tell(words_of(fail_causes_of(store, filter)));
  });
}

int run_command(const RiskCommand& command) {
  return about(command.store, command.asked, [](const auto& store, const TrendFilter& filter) {
    return tell(words_of(unit_risk_of(store, filter)));
  });
}

int run_command(const WhatIfCommand& command) {
  if (!command.lower && !command.upper) {
    std::cerr << "what-if needs --lower or --upper.\n";
    return kUsage;
  }
  if (command.lower && command.upper && *command.lower >= *command.upper) {
    std::cerr << "--lower must be below --upper.\n";
    return kUsage;
  }
  return about(command.store, command.asked, [&](const auto& store, const TrendFilter& filter) {
    const analysis::MetricFacts& facts = *analysis::facts_of_metric(command.asked.metric);
    const auto answer = what_if(store, filter,
                                {.metric = command.asked.metric,
                                 .lower = to_si(facts, command.lower),
                                 .upper = to_si(facts, command.upper)});
    if (!answer) {
      std::cerr << "No such test of " << command.asked.model << " has a value of "
                << command.asked.metric << ".\n";
      return static_cast<int>(kNegative);
    }
    for (const std::string& serial : answer->serials) std::cerr << serial << "\n";
    return tell(words_of(*answer, command.asked.metric));
  });
}

}  // namespace endgate::daemon
