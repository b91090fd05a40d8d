#include <array>

#include "daemon/definitions/bench_parts.h"
#include "daemon/definitions/number_range.h"
#include "daemon/definitions/register_words.h"

namespace endgate::daemon {
namespace {

constexpr std::array<NamedValue<RegisterType>, 3> kSampleTypes{
    {{"i16", RegisterType::i16}, {"i32", RegisterType::i32}, {"f32", RegisterType::f32}}};
constexpr int kLastRegister = 65535, kMostSamples = 60'000, kMostRead = 125;
constexpr NumberRange kPeriods{.min = 1e-6, .max = 0.01};

CaptureDefinition::Place read_place(TomlReader& reader) {
  return {static_cast<int>(reader.integer("function", 3, 4)),
          static_cast<std::uint16_t>(reader.integer("address", 0, kLastRegister))};
}

void read_samples(TomlReader& reader, CaptureDefinition& capture) {
  capture.samples = read_place(reader);
  capture.count = static_cast<int>(reader.integer("count", 2, kMostSamples));
  capture.type = reader.word<RegisterType>("type", kSampleTypes);
  const int each = capture.type == RegisterType::i16 ? 1 : 2;
  if (each == 2) capture.word_order = reader.word<WordOrder>("word_order", kWordOrders);
  capture.period_s = reader.number("period_s", kPeriods);
  capture.most_registers =
      static_cast<int>(reader.integer_or("most_registers", capture.most_registers, 2, kMostRead));
  if (reader.sound("count") && reader.sound("address") &&
      capture.samples.address + capture.count * each > kLastRegister + 1)
    reader.complain("count", "samples that end at register 65535 or before");
}

}  // namespace

CaptureDefinition read_capture(TomlReader& device) {
  CaptureDefinition capture;
  for (const char* part : {"trigger", "ready", "samples"})
    if (!device.has(part)) device.complain(part, "a table: where a capture is triggered and read");
  device.section("trigger", [&](TomlReader& reader) {
    capture.trigger_address =
        static_cast<std::uint16_t>(reader.integer("address", 0, kLastRegister));
    capture.trigger_value =
        static_cast<std::uint16_t>(reader.integer_or("value", capture.trigger_value, 0, 65535));
  });
  device.section("ready", [&](TomlReader& reader) {
    capture.ready = read_place(reader);
    if (reader.has("bit")) capture.ready_bit = static_cast<int>(reader.integer("bit", 0, 15));
  });
  device.section("time", [&](TomlReader& reader) {
    capture.time = read_place(reader);
    capture.time_tick_s = reader.number("tick_s", kAboveZero);
  });
  device.section("samples", [&](TomlReader& reader) { read_samples(reader, capture); });
  capture.within = device.milliseconds_or("within_ms", capture.within);
  return capture;
}

}  // namespace endgate::daemon
