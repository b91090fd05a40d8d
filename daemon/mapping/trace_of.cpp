#include "daemon/mapping/trace_of.h"

#include "daemon/mapping/context_fields.h"
#include "daemon/mapping/long_trace_fields.h"

namespace endgate::daemon {
namespace {

using analysis::Quality;
using analysis::RawChannel;
using analysis::RawKind;

schema::TraceColumn column_of(const RawChannel& channel) {
  schema::TraceColumn column{.channel = channel.id,
                             .raw_kind = static_cast<std::uint8_t>(channel.kind),
                             .time_us = channel.time_us,
                             .raw = channel.raw,
                             .quality = {}};
  column.quality.reserve(channel.quality.size());
  for (const Quality quality : channel.quality)
    column.quality.push_back(static_cast<std::uint8_t>(quality));
  return column;
}

template <class Enum>
Enum checked(std::uint8_t value, const std::string& channel) {
  if (value >= schema::kEnumCount<Enum>)
    throw schema::StoreFault(schema::StoreFault::Kind::damaged,
                             "trace: channel " + channel + " holds a code this version lacks");
  return static_cast<Enum>(value);
}

RawChannel channel_of(const schema::TraceColumn& column) {
  RawChannel channel;
  channel.id = column.channel;
  channel.kind = checked<RawKind>(column.raw_kind, column.channel);
  channel.time_us = column.time_us;
  channel.raw = column.raw;
  channel.quality.reserve(column.quality.size());
  for (const std::uint8_t quality : column.quality)
    channel.quality.push_back(checked<Quality>(quality, column.channel));
  return channel;
}

analysis::RawTrace marks_of(const std::vector<std::uint8_t>& marks) {
  if (schema::is_long(marks))
    return schema::decode_document<LongTrace>(schema::kLongMarksKind, marks).marks;
  return schema::decode_document<analysis::RawTrace>(schema::kMarksKind, marks);
}

}  // namespace

schema::Trace stored_trace_of(const analysis::RawTrace& trace) {
  schema::Trace stored;
  for (const RawChannel& channel : trace.channels) stored.columns.push_back(column_of(channel));
  stored.marks = schema::encode_document(schema::kMarksKind, trace);
  return stored;
}

analysis::RawTrace raw_trace_of(const schema::Trace& stored) {
  analysis::RawTrace trace = marks_of(stored.marks);
  for (const schema::TraceColumn& column : stored.columns)
    trace.channels.push_back(channel_of(column));
  return trace;
}

}  // namespace endgate::daemon
