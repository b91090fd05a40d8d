// What does the form of a calibration say, in the units of the page?

#pragma once

#include <string>
#include <variant>

#include "daemon/definitions/recalibrate.h"
#include "daemon/line/application.h"
#include "daemon/line/bench_texts.h"
#include "daemon/views/shown.h"
#include "schema/store.h"

namespace endgate::daemon {

struct CalibrationForm {
  std::string bench{}, channel{};
  std::string points{};  // lines in display units
  std::string due{}, by{}, reference{};
  std::string version{};  // of the calibration the readings were taken with
};

// Words and factors of the channel; nothing when the bench has no such channel.
[[nodiscard]] std::optional<ChannelWords> words_of_channel(const BenchDefinition& bench,
                                                           const std::string& channel);

// The calibration that the form asks for, or why there is none.
[[nodiscard]] Recalibrated recalibrated(const schema::StoreReader& store, const BenchTexts& texts,
                                        const CalibrationForm& form);

// Refused when the form is wrong or the calibration in force is not the one it was filled in under.
[[nodiscard]] std::variant<Application::AcceptCommand, CommandRefusal> accept_command_of(
    const schema::StoreReader& store, const CalibrationForm& form);

}  // namespace endgate::daemon
