#include "daemon/definitions/recalibrate.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <chrono>
#include <optional>
#include <set>
#include <sstream>

#include "daemon/definitions/date.h"
#include "daemon/definitions/load_text.h"
#include "daemon/definitions/toml_lines.h"

namespace endgate::daemon {
namespace {

constexpr std::array<std::string_view, 9> kReplaced{"gain",        "offset_si", "u_gain_rel",
                                                    "u_offset_si", "due",       "calibrated",
                                                    "by",          "reference", "points"};

constexpr std::chrono::days kLongestValid{3660};
constexpr double kLeastGain = 0.5, kMostGain = 2;  // as load_calibration.cpp takes

// For a sentence; what is kept keeps every digit.
std::string four_digits(double value) {
  std::array<char, 32> text{};
  const auto written =
      std::to_chars(text.data(), text.data() + text.size(), value, std::chars_format::general, 4);
  return {text.data(), written.ptr};
}

std::string text_line(const char* key, const std::string& value) {
  return value.empty() ? "" : toml_line(key, toml_quoted(value));
}

std::string lines_of(const Recalibration& made) {
  std::string lines = toml_line("gain", plain_number(made.after.gain));
  lines += toml_line("offset_si", plain_number(made.after.offset_si));
  lines += toml_line("u_gain_rel", plain_number(made.after.u_gain_rel));
  lines += toml_line("u_offset_si", plain_number(made.after.u_offset_si));
  lines += text_line("calibrated", made.note.calibrated) + text_line("due", made.note.due);
  lines += text_line("by", made.note.by) + text_line("reference", made.note.reference);
  lines += "points = [  # readings before any calibration\n";
  for (const analysis::CalibrationPoint& point : made.note.points)
    lines += "  { reading_si = " + plain_number(point.reading_si) +
             ", reference_si = " + plain_number(point.reference_si) +
             ", u_reference_si = " + plain_number(point.u_reference_si) + " },\n";
  return lines + "]\n";
}

const toml::table* table_of(const toml::table& root, const std::string& channel) {
  const toml::array* channels = root["channel"].as_array();
  if (channels == nullptr) return nullptr;
  for (const toml::node& entry : *channels) {
    const toml::table* table = entry.as_table();
    if (table != nullptr && (*table)["id"].value_or(std::string()) == channel) return table;
  }
  return nullptr;
}

// The lines of `table`'s replaced keys give way to `lines`, after the line of its id.
std::string with_lines(const std::string& text, const toml::table& table,
                       const std::string& lines) {
  std::set<std::size_t> gone;
  for (const std::string_view key : kReplaced)
    if (const toml::node* node = table.get(key))
      for (std::size_t at = node->source().begin.line; at <= node->source().end.line; ++at)
        gone.insert(at);
  const std::size_t after =
      std::max<std::size_t>(table.get("id")->source().end.line,
                            table.contains("unit") ? table.get("unit")->source().end.line : 0);
  std::istringstream in(text);
  std::string out, each;
  for (std::size_t number = 1; std::getline(in, each); ++number) {
    if (!gone.contains(number)) out += each + "\n";
    if (number == after) out += lines;
  }
  return out;
}

std::optional<std::size_t> index_of(const CalibrationFacts& facts, const std::string& channel) {
  const auto found =
      std::ranges::find(facts.channels, channel, [](const auto& entry) { return entry.first; });
  if (found == facts.channels.end()) return std::nullopt;
  return static_cast<std::size_t>(found - facts.channels.begin());
}

std::string channel_list(const CalibrationFacts& facts) {
  std::string list;
  for (const auto& [id, calibration] : facts.channels) list += (list.empty() ? "" : ", ") + id;
  return list;
}

std::vector<analysis::CalibrationPoint> before_calibration(
    std::vector<analysis::CalibrationPoint> points, const analysis::ChannelCalibration& in_force) {
  for (analysis::CalibrationPoint& point : points)
    point.reading_si = (point.reading_si - in_force.offset_si) / in_force.gain;
  return points;
}

bool same(const analysis::ChannelCalibration& left, const analysis::ChannelCalibration& right) {
  return left.gain == right.gain && left.offset_si == right.offset_si &&
         left.u_gain_rel == right.u_gain_rel && left.u_offset_si == right.u_offset_si;
}

// Every other channel is as it was, this one as it was fitted.
bool is_as_meant(const CalibrationFacts& before, const CalibrationFacts& after, std::size_t changed,
                 const Recalibration& made) {
  if (before.channels.size() != after.channels.size()) return false;
  for (std::size_t i = 0; i < before.channels.size(); ++i) {
    const analysis::ChannelCalibration& wanted =
        i == changed ? made.after : before.channels[i].second;
    if (!same(after.channels[i].second, wanted)) return false;
  }
  return after.channel_notes[changed].points.size() == made.note.points.size();
}

std::string refused_point(const analysis::Refusal& refusal) {
  const std::string where =
      refusal.index ? " at point " + std::to_string(*refusal.index + 1) : std::string();
  return "No calibration was made" + where + ": " + refusal.detail + ".";
}

std::string wrong_entry(const CalibrationEntry& entry) {
  if (entry.by.empty()) return "Say who calibrates. Nothing was changed.";
  if (!date_of(entry.due))
    return "Say until when the calibration is valid, as a day like 2027-02-14; found \"" +
           entry.due + "\". Nothing was changed.";
  const auto made = date_of(entry.calibrated);
  if (made && (*date_of(entry.due) <= *made || *date_of(entry.due) - *made > kLongestValid))
    return "A calibration of " + entry.calibrated +
           " is valid until a later day, at most ten years on; found " + entry.due +
           ". Nothing was changed.";
  return {};
}

// The text rewritten and read again; a sentence when it does not say what is meant.
Recalibrated rewritten(const std::string& text, const CalibrationFacts& before, std::size_t index,
                       Recalibration made) {
  Findings findings("calibration");
  const std::optional<toml::table> root = parse_toml(text, "calibration", findings);
  const toml::table* table = root ? table_of(*root, before.channels[index].first) : nullptr;
  if (table == nullptr) return "The accepted calibration cannot be read. Nothing was changed.";
  made.text = with_lines(text, *table, lines_of(made));
  const Loaded<CalibrationFacts> loaded = load_calibration(made.text, "calibration");
  const auto* after = std::get_if<CalibrationFacts>(&loaded);
  if (after != nullptr && is_as_meant(before, *after, index, made)) return made;
  const std::string why = after != nullptr
                              ? "its lines could not be replaced"
                              : std::get<std::vector<DefinitionError>>(loaded).front().text();
  return "The new calibration text would not be right: " + why +
         ". Nothing was changed; edit the text and accept it.";
}

}  // namespace

Recalibrated recalibrate(const std::string& text, const CalibrationEntry& entry) {
  if (std::string wrong = wrong_entry(entry); !wrong.empty()) return wrong;
  const Loaded<CalibrationFacts> loaded = load_calibration(text, "calibration");
  const auto* before = std::get_if<CalibrationFacts>(&loaded);
  if (before == nullptr)
    return std::get<std::vector<DefinitionError>>(loaded).front().text() + ". Nothing was changed.";
  const std::optional<std::size_t> index = index_of(*before, entry.channel);
  if (!index)
    return "Bench " + before->bench + " has no calibrated channel \"" + entry.channel +
           "\". There are: " + channel_list(*before) + ". Nothing was changed.";
  Recalibration made{.bench = before->bench,
                     .unit = before->channel_units[*index],
                     .before = before->channels[*index].second,
                     .note_before = before->channel_notes[*index]};
  made.note = {.due = entry.due,
               .calibrated = entry.calibrated,
               .by = entry.by,
               .reference = entry.reference,
               .points = before_calibration(entry.shown, made.before)};
  const analysis::Outcome<analysis::CalibrationFit> fit =
      analysis::fit_calibration(made.note.points);
  if (!fit) return refused_point(fit.error()) + " Nothing was changed.";
  if (fit->gain < kLeastGain || fit->gain > kMostGain)
    return "The points give a gain of " + four_digits(fit->gain) +
           "; of a channel in order it is about 1. Look for readings and references exchanged, for "
           "two points exchanged, or another unit. Nothing was changed.";
  made.fit = *fit;
  made.after.gain = fit->gain;
  made.after.offset_si = fit->offset_si;
  made.after.u_gain_rel = fit->u_gain_rel;
  made.after.u_offset_si = fit->u_offset_si;
  return rewritten(text, *before, *index, std::move(made));
}

}  // namespace endgate::daemon
