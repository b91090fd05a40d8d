#include "daemon/line/enter_calibration.h"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <optional>
#include <sstream>

#include "analysis/role.h"
#include "daemon/definitions/load.h"
#include "daemon/queries/csv.h"

namespace endgate::daemon {
namespace {

std::optional<std::vector<double>> numbers_in(std::string line) {
  std::ranges::replace_if(
      line, [](char c) { return c == ',' || c == ';' || c == '\t'; }, ' ');
  std::istringstream words(line);
  std::vector<double> numbers;
  for (std::string word; words >> word;) {
    double value = 0;
    const char* const end = word.data() + word.size();
    const auto read = std::from_chars(word.data(), end, value);
    if (read.ec != std::errc() || read.ptr != end || !std::isfinite(value)) return std::nullopt;
    numbers.push_back(value);
  }
  return numbers;
}

using Points = std::vector<analysis::CalibrationPoint>;

const analysis::ChannelFacts* facts_of(const BenchDefinition& bench, const std::string& channel) {
  const auto known =
      std::ranges::find(bench.channels, channel, [](const auto& each) { return each.facts.id; });
  return known == bench.channels.end() ? nullptr : &known->facts;
}

// What the reference said, not what the channel showed: a wrong calibration must be mendable.
std::string outside_range(const analysis::ChannelFacts& facts, const Points& shown) {
  constexpr double kBeyond = 0.1;  // a reference may go a little further than the sensor promises
  const double room = kBeyond * (facts.range_max_si - facts.range_min_si);
  const std::string unit(analysis::kRoles[static_cast<std::size_t>(facts.role)].si_unit);
  for (std::size_t i = 0; i < shown.size(); ++i) {
    const double si = shown[i].reference_si;
    if (si >= facts.range_min_si - room && si <= facts.range_max_si + room) continue;
    return "The reference of point " + std::to_string(i + 1) + " says " + csv_number(si, 4) + " " +
           unit + ", and " + facts.id + " measures " + csv_number(facts.range_min_si, 4) + " to " +
           csv_number(facts.range_max_si, 4) + " " + unit +
           ". Is it in another unit? Nothing was changed.";
  }
  return "";
}

std::string too_narrow(const analysis::ChannelFacts& facts, const Points& shown) {
  constexpr double kLeastShare = 0.05;
  if (shown.empty()) return "";
  const auto [low, high] =
      std::ranges::minmax(shown, {}, &analysis::CalibrationPoint::reference_si);
  const double range = facts.range_max_si - facts.range_min_si;
  if (high.reference_si - low.reference_si >= kLeastShare * range) return "";
  return "The points span " + csv_number(high.reference_si - low.reference_si, 4) + " of the " +
         csv_number(range, 4) + " that " + facts.id +
         " measures (SI units: Pa, m3/s, A, V, rev/s, K). Are they in another unit? Nothing was "
         "changed.";
}

const analysis::ChannelCalibration* calibration_of(const CalibrationFacts& facts,
                                                   const std::string& channel) {
  for (const auto& [id, calibration] : facts.channels)
    if (id == channel) return &calibration;
  return nullptr;
}

const CalibrationNote* note_of(const CalibrationFacts& facts, const std::string& channel) {
  for (std::size_t i = 0; i < facts.channels.size(); ++i)
    if (facts.channels[i].first == channel) return &facts.channel_notes[i];
  return nullptr;
}

// What the channel showed when the readings of `note` were taken, under the calibration before it.
bool were_shown_by(const analysis::ChannelCalibration& before, const CalibrationNote& note,
                   const Points& shown) {
  constexpr double kRounding = 1e-9;
  return std::ranges::equal(note.points, shown, [&](const auto& kept, const auto& given) {
    const double then = before.gain * kept.reading_si + before.offset_si;
    const double size = std::max(std::abs(then), std::abs(given.reading_si));
    return kept.reference_si == given.reference_si &&
           std::abs(then - given.reading_si) <= kRounding * size;
  });
}

// The newest accepted calibration of the channel that is not the one in force.
std::optional<analysis::ChannelCalibration> calibration_before(
    const schema::StoreReader& store, const std::string& bench, const std::string& channel,
    const analysis::ChannelCalibration& in_force) {
  std::optional<analysis::ChannelCalibration> before;
  for (const schema::Definition& version : store.definitions()) {
    if (version.kind != "calibration" || version.subject != bench) continue;
    const auto loaded = load_calibration(version.text, "calibration");
    const auto* facts = std::get_if<CalibrationFacts>(&loaded);
    const auto* known = facts == nullptr ? nullptr : calibration_of(*facts, channel);
    if (known != nullptr &&
        (known->gain != in_force.gain || known->offset_si != in_force.offset_si))
      before = *known;
  }
  return before;
}

std::string taken_before(const schema::StoreReader& store, const BenchTexts& texts,
                         const std::string& channel, const Points& shown) {
  const auto* in_force = calibration_of(texts.calibration, channel);
  const auto* note = note_of(texts.calibration, channel);
  if (in_force == nullptr || note == nullptr || note->points.empty()) return "";
  const auto before = calibration_before(store, texts.bench.id, channel, *in_force);
  if (!before || !were_shown_by(*before, *note, shown)) return "";
  return "The calibration in force was made from these readings; " + channel +
         " shows others since. Take the readings again. Nothing was changed.";
}

}  // namespace

std::string doubt_about(const schema::StoreReader& store, const BenchTexts& texts,
                        const std::string& channel, const Points& shown) {
  const analysis::ChannelFacts* facts = facts_of(texts.bench, channel);
  std::string doubt = facts == nullptr ? "" : outside_range(*facts, shown);
  if (doubt.empty() && facts != nullptr) doubt = too_narrow(*facts, shown);
  return doubt.empty() ? taken_before(store, texts, channel, shown) : doubt;
}

ReadPoints read_points(const std::string& text, const ShownUnit& unit) {
  std::vector<analysis::CalibrationPoint> points;
  std::istringstream lines(text);
  std::string line;
  for (int number = 1; std::getline(lines, line); ++number) {
    std::erase(line, '\r');
    const auto numbers = numbers_in(line);
    if (numbers && numbers->empty()) continue;
    if (!numbers || numbers->size() != 3)
      return "Line " + std::to_string(number) +
             " of the points is not three numbers: reading, reference, standard u of the "
             "reference.";
    points.push_back({.reading_si = ((*numbers)[0] - unit.offset) / unit.factor,
                      .reference_si = ((*numbers)[1] - unit.offset) / unit.factor,
                      .u_reference_si = (*numbers)[2] / unit.factor});
  }
  return points;
}

Application::AcceptCommand accept_command_of(const Recalibration& made,
                                             const std::string& channel) {
  std::string why = "calibration of " + channel + ", " + std::to_string(made.note.points.size()) +
                    " points, valid until " + made.note.due;
  if (!made.note.reference.empty()) why += ", against " + made.note.reference;
  return {
      .file_name = "calibration " + made.bench, .text = made.text, .by = made.note.by, .why = why};
}

}  // namespace endgate::daemon
