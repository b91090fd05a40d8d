// `endgate calibrate BENCH CHANNEL --points FILE`: old against new, then a new version of the
// bench's calibration.

#include <unistd.h>

#include <algorithm>
#include <cmath>
#include <iostream>
#include <iterator>

#include "daemon/cli/aside_file.h"
#include "daemon/cli/commands.h"
#include "daemon/cli/exit_status.h"
#include "daemon/cli/fact_way.h"
#include "daemon/cli/text_table.h"
#include "daemon/definitions/date.h"
#include "daemon/definitions/number_range.h"
#include "daemon/line/accept_text.h"
#include "daemon/line/bench_texts.h"
#include "daemon/line/enter_calibration.h"
#include "daemon/line/wall_clock.h"
#include "daemon/queries/csv.h"

namespace endgate::daemon {
namespace {

constexpr const char* kHeading = "reading_si,reference_si,u_reference_si";
constexpr int kFitDigits = 6;

std::string text_of_file(const std::filesystem::path& path) {
  std::ifstream in(path, std::ios::binary);
  if (!in) throw ConfigurationFault(path.string() + ": expected a readable file");
  return {std::istreambuf_iterator<char>(in), {}};
}

// The heading states the unit, so that nobody's kPa are taken for Pa.
std::vector<analysis::CalibrationPoint> points_in(const std::filesystem::path& path) {
  std::string text = text_of_file(path);
  std::erase(text, '\r');
  const std::size_t end = std::min(text.find('\n'), text.size());
  if (text.substr(0, end) != kHeading)
    throw ConfigurationFault(path.string() + ":1: expected the heading " + kHeading);
  ReadPoints points = read_points(text.substr(end), {});
  if (const auto* wrong = std::get_if<std::string>(&points))
    throw ConfigurationFault(path.string() + ": " + *wrong);
  return std::get<std::vector<analysis::CalibrationPoint>>(std::move(points));
}

// What is left of a computation that came out at nothing is no number to read.
std::string si_number(double value, double size) {
  constexpr double kRounding = 1e-9;
  return std::abs(value) <= kRounding * size ? "0" : csv_number(value, kFitDigits);
}

double largest_reading(const Recalibration& made) {
  double size = 0;
  for (const analysis::CalibrationPoint& point : made.note.points)
    size = std::max({size, std::abs(point.reading_si), std::abs(point.reference_si)});
  return size;
}

void show(const Recalibration& made) {
  const double size = largest_reading(made);
  const auto row = [](const char* name, double before, double after) {
    return TextRow{name, csv_number(before, kFitDigits), csv_number(after, kFitDigits)};
  };
  write_table(
      {{"", "in force", "new"},
       row("gain", made.before.gain, made.after.gain),
       {"offset_si", si_number(made.before.offset_si, size), si_number(made.after.offset_si, size)},
       row("u_gain_rel", made.before.u_gain_rel, made.after.u_gain_rel),
       row("u_offset_si", made.before.u_offset_si, made.after.u_offset_si),
       {"due", made.note_before.due, made.note.due}},
      std::cerr);
  std::vector<TextRow> rows{{"reading_si", "reference_si", "residual_si"}};
  for (std::size_t i = 0; i < made.note.points.size(); ++i)
    rows.push_back({csv_number(made.note.points[i].reading_si, kFitDigits),
                    csv_number(made.note.points[i].reference_si, kFitDigits),
                    si_number(made.fit.residuals_si[i], size)});
  write_table(rows, std::cerr);
}

bool wanted(const CalibrateCommand& command) {
  if (command.yes || isatty(STDIN_FILENO) == 0) return true;
  std::cerr << "Accept as the calibration of " << command.channel << " on bench " << command.bench
            << "? [y/N] ";
  std::string answer;
  std::getline(std::cin, answer);
  return answer == "y" || answer == "yes";
}

// The file of the configuration folder follows, if it still says what was in force.
void follow_in_file(const CalibrateCommand& command, const std::string& before,
                    const std::string& after) {
  if (command.store.config.empty()) return;
  const auto path = command.store.config / "calibrations" / (command.bench + ".toml");
  std::error_code none;
  if (!std::filesystem::exists(path, none) || text_of_file(path) != before) return;
  try {
    AsideFile file(path);
    file.stream() << after;
    file.finish();
    std::cerr << path.string() << " was rewritten too\n";
  } catch (const std::exception& fault) {
    std::cerr << path.string() << " could not be rewritten (" << fault.what()
              << "). The new calibration is in force; never accept the old file again.\n";
  }
}

}  // namespace

int run_command(const CalibrateCommand& command) {
  const auto points = points_in(command.points);
  FactWay way(command.store);
  const auto texts = bench_texts(schema::StoreReader(way.folder()), command.bench);
  if (const auto* refusal = std::get_if<CommandRefusal>(&texts)) return tell(*refusal);
  const auto& known = std::get<BenchTexts>(texts);
  const std::string doubt =
      doubt_about(schema::StoreReader(way.folder()), known, command.channel, points);
  if (!doubt.empty()) {
    std::cerr << doubt << "\n";
    return kUsage;
  }
  const std::string& before = known.calibration_text;
  const Recalibrated result =
      recalibrate(before, {.channel = command.channel,
                           .shown = points,
                           .due = command.due,
                           .calibrated = say_date(day_of(wall_clock_now().utc_ms)),
                           .by = command.by,
                           .reference = command.reference});
  if (const auto* refusal = std::get_if<std::string>(&result)) {
    std::cerr << *refusal << "\n";
    return kUsage;
  }
  const auto& made = std::get<Recalibration>(result);
  show(made);
  if (!wanted(command)) {
    std::cerr << "Nothing was changed.\n";
    return kNegative;
  }
  const Application::AcceptCommand asked = accept_command_of(made, command.channel);
  const Application::Entered answer = way.enter(
      [&](schema::StoreWriter& writer) { return accept_text(writer, way.folder(), asked); },
      "/api/v1/accept",
      {{"file_name", asked.file_name}, {"text", asked.text}, {"by", asked.by}, {"why", asked.why}});
  if (std::holds_alternative<Application::Accepted>(answer))
    follow_in_file(command, before, made.text);
  return tell(answer);
}

}  // namespace endgate::daemon
