// `endgate returns --model MODEL`

#include <iostream>
#include <string>

#include "daemon/cli/asked_tests.h"
#include "daemon/cli/commands.h"
#include "daemon/cli/exit_status.h"
#include "daemon/cli/store_place.h"
#include "daemon/definitions/load.h"
#include "daemon/queries/cause_agreement.h"
#include "daemon/queries/returns_words.h"
#include "daemon/queries/suggested_priors.h"

namespace endgate::daemon {
namespace {

int tell_priors(const schema::StoreReader& store, const std::string& model) {
  const auto accepted = store.current_definition(name_of(DefinitionKind::causes), model);
  if (!accepted) {
    std::cerr << "No list of causes of " << model << " was accepted here.\n";
    return kNegative;
  }
  const Loaded<CauseFacts> loaded = load_causes(accepted->text, "causes " + model);
  const auto* facts = std::get_if<CauseFacts>(&loaded);
  if (facts == nullptr) {
    std::cerr << "The list of causes of " << model << " can no longer be read; accept a new one.\n";
    return kNegative;
  }
  const CauseAgreement told = cause_agreement_of(store, model);
  for (const std::string& line : lines_of(suggested_priors(told, facts->table)))
    std::cout << line << "\n";
  return kOk;
}

// Than every test of the model.
bool asks_for_fewer(const TestsAsked& asked) {
  return !(asked.bench + asked.batch + asked.since + asked.until + asked.lot).empty();
}

}  // namespace

int run_command(const ReturnsCommand& command) {
  const schema::StoreReader store(store_folder(command.store));
  const auto filter = filter_asked(store, command.asked);
  if (!filter) return kUsage;
  if (command.priors) {
    if (asks_for_fewer(command.asked))
      std::cerr << "Priors are of every repair of " << filter->model
                << "; the other conditions were not looked at.\n";
    return tell_priors(store, filter->model);
  }
  for (const std::string& line : words_of(returns_of(store, *filter))) std::cout << line << "\n";
  std::cout << "Likely cause and finding, repairs of every " << filter->model << ":\n";
  for (const std::string& line : words_of(cause_agreement_of(store, filter->model)))
    std::cout << line << "\n";
  return kOk;
}

}  // namespace endgate::daemon
