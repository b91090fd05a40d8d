#include "daemon/service/calibration_form.h"

#include "daemon/definitions/date.h"
#include "daemon/line/enter_calibration.h"
#include "daemon/line/wall_clock.h"

namespace endgate::daemon {

std::optional<ChannelWords> words_of_channel(const BenchDefinition& bench,
                                             const std::string& channel) {
  for (const ChannelDefinition& each : bench.channels)
    if (each.facts.id == channel) return words_of(each.facts.role);
  return std::nullopt;
}

Recalibrated recalibrated(const schema::StoreReader& store, const BenchTexts& texts,
                          const CalibrationForm& form) {
  const auto words = words_of_channel(texts.bench, form.channel);
  if (!words)
    return "Bench " + texts.bench.id + " has no channel \"" + form.channel +
           "\". Nothing was changed.";
  ReadPoints points = read_points(form.points, {words->factor, words->offset});
  if (auto* wrong = std::get_if<std::string>(&points)) return *wrong + " Nothing was changed.";
  auto& shown = std::get<std::vector<analysis::CalibrationPoint>>(points);
  if (std::string doubt = doubt_about(store, texts, form.channel, shown); !doubt.empty())
    return doubt;
  return recalibrate(texts.calibration_text,
                     {.channel = form.channel,
                      .shown = std::move(shown),
                      .due = form.due,
                      .calibrated = say_date(day_of(wall_clock_now().utc_ms)),
                      .by = form.by,
                      .reference = form.reference});
}

std::variant<Application::AcceptCommand, CommandRefusal> accept_command_of(
    const schema::StoreReader& store, const CalibrationForm& form) {
  const auto texts = bench_texts(store, form.bench);
  if (const auto* refusal = std::get_if<CommandRefusal>(&texts)) return *refusal;
  const auto& known = std::get<BenchTexts>(texts);
  if (std::to_string(known.calibration_version) != form.version)
    return CommandRefusal{409, "U-233",
                          "The bench was calibrated since these readings were taken. Nothing was "
                          "changed. Take the readings again."};
  const Recalibrated made = recalibrated(store, known, form);
  if (const auto* refusal = std::get_if<std::string>(&made))
    return CommandRefusal{422, "U-234", *refusal};
  return accept_command_of(std::get<Recalibration>(made), form.channel);
}

}  // namespace endgate::daemon
