#include <algorithm>

#include "daemon/definitions/date.h"
#include "daemon/definitions/load_text.h"
#include "daemon/definitions/unique_ids.h"

namespace endgate::daemon {
namespace {

constexpr NumberRange kSmallShare{.min = 0, .max = 0.5};

void expect_some_si_unit(TomlReader& reader, const std::string& unit) {
  if (unit.empty()) return;
  if (std::ranges::find(analysis::kRoles, unit, &analysis::RoleFacts::si_unit) !=
      analysis::kRoles.end())
    return;
  reader.complain("unit", "the SI unit of the channel's role, found \"" + unit + "\"");
}

analysis::ChannelCalibration read_calibration_of_channel(TomlReader& reader) {
  analysis::ChannelCalibration calibration;
  calibration.gain = reader.number_or("gain", 1, {.min = 0.5, .max = 2});
  calibration.offset_si = reader.number_or("offset_si", 0);
  calibration.u_gain_rel = reader.number("u_gain_rel", kSmallShare);
  calibration.u_offset_si = reader.number("u_offset_si", kNotNegative);
  return calibration;
}

std::string read_day(TomlReader& reader, std::string_view key) {
  const std::string text = reader.text_or(key, "");
  if (!text.empty() && !date_of(text))
    reader.complain(key, "a day like \"2027-02-14\", found \"" + text + "\"");
  return text;
}

CalibrationNote read_calibration_note(TomlReader& reader) {
  CalibrationNote note;
  note.due = read_day(reader, "due");
  note.calibrated = read_day(reader, "calibrated");
  note.by = reader.text_or("by", "");
  note.reference = reader.text_or("reference", "");
  reader.each("points", [&](TomlReader& point) {
    note.points.push_back({.reading_si = point.number("reading_si"),
                           .reference_si = point.number("reference_si"),
                           .u_reference_si = point.number("u_reference_si", kNotNegative)});
  });
  return note;
}

void read_channel_calibrations(TomlReader& root, CalibrationFacts& facts) {
  UniqueIds ids;
  root.each("channel", [&](TomlReader& reader) {
    const std::string id = reader.text("id");
    ids.expect_new(reader, "id", id);
    facts.channel_units.push_back(reader.text("unit"));
    expect_some_si_unit(reader, facts.channel_units.back());
    facts.channels.emplace_back(id, read_calibration_of_channel(reader));
    facts.channel_notes.push_back(read_calibration_note(reader));
  });
}

analysis::Receiver read_receiver_constants(TomlReader& reader) {
  analysis::Receiver receiver;
  receiver.name = reader.text("name");
  receiver.volume_m3 = reader.number("volume_m3", {.min = 0, .max = 1, .min_excluded = true});
  receiver.u_volume_rel = reader.number("u_volume_rel", kSmallShare);
  receiver.conductance_w_k = reader.number("conductance_w_k", kNotNegative);
  receiver.conductance_exponent =
      reader.number_or("conductance_exponent", receiver.conductance_exponent, kShare);
  receiver.u_conductance_rel = reader.number("u_conductance_rel", kNotNegative);
  receiver.wall_j_k = reader.number_or("wall_j_k", receiver.wall_j_k, kNotNegative);
  receiver.wall_to_room_w_k =
      reader.number_or("wall_to_room_w_k", receiver.wall_to_room_w_k, kNotNegative);
  receiver.u_wall_rel = reader.number_or("u_wall_rel", receiver.u_wall_rel, kNotNegative);
  receiver.evaporation_s = reader.number_or("evaporation_s", 0, kNotNegative);
  receiver.u_evaporation_rel =
      reader.number_or("u_evaporation_rel", receiver.u_evaporation_rel, kNotNegative);
  return receiver;
}

void read_calibration(TomlReader& root, CalibrationFacts& facts) {
  facts.bench = root.text("bench");
  read_channel_calibrations(root, facts);
  UniqueIds names;
  root.each("receiver", [&](TomlReader& reader) {
    facts.receivers.push_back(read_receiver_constants(reader));
    names.expect_new(reader, "name", facts.receivers.back().name);
  });
  facts.seal_volume_m3 = root.number("seal_volume_m3", {.min = 0, .max = 1});
  facts.u_seal_volume_rel = root.number("u_seal_volume_rel", kSmallShare);
  facts.fixture_back_leak_m3_s = root.number("fixture_back_leak_m3_s");
  facts.u_fixture_back_leak_m3_s = root.number("u_fixture_back_leak_m3_s", kNotNegative);
  facts.fixture_seal_leak_m3_s = root.number("fixture_seal_leak_m3_s");
  facts.u_fixture_seal_leak_m3_s = root.number("u_fixture_seal_leak_m3_s", kNotNegative);
}

}  // namespace

Loaded<CalibrationFacts> load_calibration(std::string_view text, const std::string& file) {
  return load_text<CalibrationFacts>(text, file, DefinitionKind::calibration, read_calibration);
}

}  // namespace endgate::daemon
