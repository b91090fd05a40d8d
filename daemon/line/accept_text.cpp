#include "daemon/line/accept_text.h"

#include "daemon/definitions/load.h"
#include "daemon/line/two_people.h"
#include "daemon/line/wall_clock.h"

namespace endgate::daemon {
namespace {

CommandRefusal wrong_text(const std::vector<DefinitionError>& errors) {
  std::string sentence;
  for (const DefinitionError& error : errors) sentence += error.text() + "\n";
  return {422, "U-201", sentence + "Nothing was accepted. Correct the file and accept it again."};
}

// The first limit set of a model is its set-up; from then on two people release a change.
bool needs_second_name(const std::filesystem::path& store_folder, DefinitionKind kind,
                       const std::string& model, const Application::AcceptCommand& command) {
  if (kind != DefinitionKind::limits || two_people(command.by, command.second_by)) return false;
  const auto last = schema::StoreReader(store_folder).current_definition(name_of(kind), model);
  return last && last->text != command.text;
}

struct Checked {
  DefinitionKind kind;
  std::string subject;
};

std::variant<Checked, CommandRefusal> checked(const std::filesystem::path& store_folder,
                                              const Application::AcceptCommand& command) {
  if (command.by.empty() || command.why.empty())
    return CommandRefusal{422, "U-202", "Say who accepts this and why. Nothing was accepted."};
  const std::optional<DefinitionKind> kind = kind_in(command.text);
  if (!kind || *kind == DefinitionKind::service)
    return CommandRefusal{
        422, "U-203",
        command.file_name +
            R"(: expected a line kind = "bench", "model", "calibration", )"
            R"("corrections", "limits", "causes", "control" or "trial". Nothing was accepted.)"};
  const LoadedSubject subject = load_subject(*kind, command.text, command.file_name);
  if (const auto* errors = std::get_if<std::vector<DefinitionError>>(&subject))
    return wrong_text(*errors);
  if (needs_second_name(store_folder, *kind, std::get<std::string>(subject), command))
    return CommandRefusal{422, "U-204",
                          command.file_name +
                              ": changed limits need the names of two different people (--second). "
                              "Ask what they would change with what-if. Nothing was accepted."};
  return Checked{*kind, std::get<std::string>(subject)};
}

}  // namespace

std::optional<CommandRefusal> why_not_accepted(const std::filesystem::path& store_folder,
                                               const Application::AcceptCommand& command) {
  const auto found = checked(store_folder, command);
  const auto* refusal = std::get_if<CommandRefusal>(&found);
  return refusal == nullptr ? std::nullopt : std::optional(*refusal);
}

std::variant<Application::Accepted, CommandRefusal> accept_text(
    schema::StoreWriter& writer, const std::filesystem::path& store_folder,
    const Application::AcceptCommand& command) {
  const auto found = checked(store_folder, command);
  if (const auto* refusal = std::get_if<CommandRefusal>(&found)) return *refusal;
  const auto& text = std::get<Checked>(found);
  const schema::Position position =
      writer.append(schema::Definition{.kind = name_of(text.kind),
                                       .subject = text.subject,
                                       .text = command.text,
                                       .by = command.by,
                                       .why = command.why,
                                       .at = wall_clock_now(),
                                       .second_by = command.second_by});
  return Application::Accepted{std::string(name_of(text.kind)) + " " + text.subject +
                               " (position " + std::to_string(position) + ")"};
}

}  // namespace endgate::daemon
