// `endgate capability METRIC`, `endgate yield`, `endgate risk`, `endgate what-if METRIC`

#include <iostream>

#include "daemon/cli/commands.h"
#include "daemon/cli/exit_status.h"
#include "daemon/cli/store_place.h"
#include "daemon/queries/population_words.h"
#include "daemon/queries/unit_risk_told.h"

namespace endgate::daemon {
namespace {

int tell(const std::vector<std::string>& words) {
  for (const std::string& line : words) std::cout << line << "\n";
  return kOk;
}

int unknown(const std::string& metric) {
  std::cerr << "No metric is called " << metric << ".\n";
  return kUsage;
}

std::optional<double> to_si(const analysis::MetricFacts& facts,
                            const std::optional<double>& shown) {
  if (!shown) return std::nullopt;
  return (*shown - facts.offset) / facts.factor;
}

}  // namespace

int run_command(const CapabilityCommand& command) {
  const schema::StoreReader store(store_folder(command.store));
  const auto told = capability_of(store, {.model = command.model}, command.metric);
  return told ? tell(words_of(*told)) : unknown(command.metric);
}

int run_command(const YieldCommand& command) {
  const schema::StoreReader store(store_folder(command.store));
  return tell(words_of(yield_of(store, {.model = command.model})));
}

int run_command(const RiskCommand& command) {
  const schema::StoreReader store(store_folder(command.store));
  return tell(words_of(unit_risk_of(store, {.model = command.model})));
}

int run_command(const WhatIfCommand& command) {
  const analysis::MetricFacts* facts = analysis::facts_of_metric(command.metric);
  if (facts == nullptr) return unknown(command.metric);
  if (!command.lower && !command.upper) {
    std::cerr << "what-if needs --lower or --upper.\n";
    return kUsage;
  }
  const schema::StoreReader store(store_folder(command.store));
  const auto answer = what_if(store, {.model = command.model},
                              {.metric = command.metric,
                               .lower = to_si(*facts, command.lower),
                               .upper = to_si(*facts, command.upper)});
  if (!answer) {
    std::cerr << "No test of " << command.model << " was held against a limit on " << command.metric
              << ".\n";
    return kNegative;
  }
  for (const std::string& serial : answer->serials) std::cerr << serial << "\n";
  return tell(words_of(*answer, command.metric));
}

}  // namespace endgate::daemon
