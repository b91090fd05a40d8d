#include "daemon/definitions/bench_parts.h"

namespace endgate::daemon {
namespace {

// One capture is one burst.
void check_capture(TomlReader& reader, const RegisterScope& scope,
                   const WaveformDefinition& waveform) {
  const DeviceDefinition* device = device_in(scope, waveform.source.device);
  if (device == nullptr || !device->capture) return;
  const CaptureDefinition& capture = *device->capture;
  if (waveform.source.column != 0) reader.complain("column", "0: a capture has one column");
  if (waveform.source.type != capture.type && reader.sound("type"))
    reader.complain("type", "the type of the samples of its device");
  if (reader.sound("burst_s") && waveform.facts.burst_s > capture.count * capture.period_s)
    reader.complain("burst_s", "at most what one capture of its device holds");
}

WaveformDefinition read_waveform(TomlReader& reader, const RegisterScope& scope) {
  WaveformDefinition waveform;
  analysis::WaveformFacts& facts = waveform.facts;
  facts.id = reader.text("id");
  waveform.source = read_register(reader, scope);
  if (!waveform.source.column && reader.sound("device"))
    reader.complain("device", "a device with link = \"sample_stream\" or \"modbus_capture\"");
  if (const std::string unit = reader.text("unit"); reader.sound("unit") && unit != "A")
    reader.complain("unit", "\"A\", found \"" + unit + "\"");
  facts.scale = reader.number("scale_si");
  if (facts.scale == 0 && reader.sound("scale_si"))
    reader.complain("scale_si", "a number other than 0");
  facts.offset_si = reader.number("offset_si");
  facts.range_min_si = reader.number("range_min_si");
  facts.range_max_si = reader.number("range_max_si");
  if (reader.sound("range_min_si") && reader.sound("range_max_si") &&
      facts.range_max_si <= facts.range_min_si)
    reader.complain("range_max_si", "a number above range_min_si");
  facts.burst_s = reader.number_or("burst_s", facts.burst_s, {.min = 0.1, .max = 2});
  check_capture(reader, scope, waveform);
  facts.u_clock_rel = reader.number_or("u_clock_rel", facts.u_clock_rel, {.min = 0, .max = 0.01});
  return waveform;
}

}  // namespace

std::optional<WaveformDefinition> read_current_waveform(TomlReader& root,
                                                        const RegisterScope& scope) {
  std::optional<WaveformDefinition> waveform;
  root.section("current_waveform",
               [&](TomlReader& reader) { waveform = read_waveform(reader, scope); });
  return waveform;
}

}  // namespace endgate::daemon
