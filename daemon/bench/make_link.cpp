#include "daemon/bench/make_link.h"

#include <cmath>

#include "daemon/links/modbus_rtu_link.h"
#include "daemon/links/modbus_tcp_link.h"
#include "daemon/links/recorded_run_link.h"
#include "daemon/links/sample_stream_link.h"
#include "daemon/links/scpi_link.h"
#include "daemon/links/triggered_capture_link.h"

namespace endgate::daemon {
namespace {

template <class Settings>
Settings settings_of(const DeviceDefinition& device) {
  Settings settings;
  settings.device = device.id;
  settings.transaction_deadline = device.transaction_deadline;
  settings.reconnect_first = device.reconnect_first;
  settings.reconnect_last = device.reconnect_last;
  return settings;
}

SerialSettings line_of(const DeviceDefinition& device) {
  SerialSettings line;
  line.path = device.line.path;
  line.baud = device.line.baud;
  line.parity = device.line.parity == LineParity::even  ? Parity::even
                : device.line.parity == LineParity::odd ? Parity::odd
                                                        : Parity::none;
  line.stop_bits = device.line.stop_bits;
  line.resync_silence = device.transaction_deadline;
  return line;
}

// A line is open only after its silence.
void wait_for_line(LinkTimes& times, const DeviceDefinition& device) {
  times.connect_deadline += 10 * device.transaction_deadline;
}

ScpiSettings scpi_of(const DeviceDefinition& device) {
  auto settings = settings_of<ScpiSettings>(device);
  for (const QueryDefinition& query : device.queries)
    settings.talk.queries.push_back({query.text, query.answer});
  settings.talk.commands = device.commands;
  settings.talk.on_open = device.on_open;
  settings.talk.terminator = device.terminator;
  settings.talk.error_query = device.error_query;
  settings.talk.join = device.join_queries;
  return settings;
}

ModbusTcpSettings tcp_of(const DeviceDefinition& device) {
  auto settings = settings_of<ModbusTcpSettings>(device);
  settings.host = device.host;
  settings.port = device.port;
  settings.unit = static_cast<std::uint8_t>(device.unit_id);
  return settings;
}

std::shared_ptr<Link> make_tcp(boost::asio::any_io_executor executor,
                               const DeviceDefinition& device) {
  return make_modbus_tcp_link(std::move(executor), tcp_of(device));
}

std::shared_ptr<Link> make_rtu(boost::asio::any_io_executor executor,
                               const DeviceDefinition& device) {
  auto settings = settings_of<ModbusRtuSettings>(device);
  settings.line = line_of(device);
  settings.unit = static_cast<std::uint8_t>(device.unit_id);
  wait_for_line(settings, device);
  return make_modbus_rtu_link(std::move(executor), std::move(settings));
}

std::shared_ptr<Link> make_scpi_serial(boost::asio::any_io_executor executor,
                                       const DeviceDefinition& device) {
  ScpiSettings settings = scpi_of(device);
  wait_for_line(settings, device);
  return make_scpi_serial_link(std::move(executor), std::move(settings), line_of(device));
}

std::shared_ptr<Link> make_stream(boost::asio::any_io_executor executor,
                                  const DeviceDefinition& device) {
  auto settings = settings_of<SampleStreamSettings>(device);
  settings.host = device.host;
  settings.port = device.port;
  return make_sample_stream_link(std::move(executor), std::move(settings));
}

RegisterSpan span_at(const CaptureDefinition::Place& place, std::uint16_t count) {
  return {place.function, place.address, count};
}

CaptureSettings capture_of(const CaptureDefinition& given) {
  CaptureSettings capture;
  capture.trigger = {given.trigger_address, {given.trigger_value}};
  capture.ready = span_at(given.ready, 1);
  capture.ready_bit = given.ready_bit;
  if (given.time) capture.time = span_at(*given.time, 2);
  capture.time_tick_s = given.time_tick_s;
  capture.samples = span_at(given.samples, 0);
  capture.count = static_cast<std::size_t>(given.count);
  capture.type = given.type == RegisterType::i16   ? SampleType::int16
                 : given.type == RegisterType::i32 ? SampleType::int32
                                                   : SampleType::float32;
  capture.low_word_first = given.word_order == WordOrder::low_first;
  capture.period_ns = std::llround(given.period_s * 1e9);
  capture.most_registers = static_cast<std::uint16_t>(given.most_registers);
  capture.within = given.within;
  return capture;
}

std::shared_ptr<Link> make_capture(boost::asio::any_io_executor executor,
                                   const DeviceDefinition& device) {
  return make_triggered_capture_link(std::move(executor), tcp_of(device),
                                     capture_of(*device.capture));
}

RecordedRunSettings recorded_of(const DeviceDefinition& device) {
  auto settings = settings_of<RecordedRunSettings>(device);
  settings.file = device.recording.file;
  settings.rate = device.recording.rate;
  settings.columns = device.recording.columns;
  settings.commands = device.commands;
  return settings;
}

}  // namespace

std::shared_ptr<Link> make_link(boost::asio::any_io_executor executor,
                                const DeviceDefinition& device) {
  switch (device.link) {
    case LinkKind::modbus_tcp:
      return make_tcp(std::move(executor), device);
    case LinkKind::modbus_rtu:
      return make_rtu(std::move(executor), device);
    case LinkKind::scpi_tcp:
      return make_scpi_tcp_link(std::move(executor), scpi_of(device), device.host, device.port);
    case LinkKind::scpi_serial:
      return make_scpi_serial(std::move(executor), device);
    case LinkKind::recorded_run:
      return make_recorded_run_link(std::move(executor), recorded_of(device));
    case LinkKind::modbus_capture:
      return make_capture(std::move(executor), device);
    case LinkKind::sample_stream:
      break;
  }
  return make_stream(std::move(executor), device);
}

std::string why_not_played(const DeviceDefinition& device) {
  return device.link == LinkKind::recorded_run ? why_not_played(recorded_of(device)) : "";
}

}  // namespace endgate::daemon
