#include "daemon/links/modbus_pdu.h"

#include <algorithm>

#include "daemon/links/modbus_crc.h"

namespace endgate::daemon::modbus {
namespace {

constexpr std::uint8_t kExceptionBit = 0x80;
constexpr std::uint16_t kBitOn = 0xff00;
constexpr std::size_t kCheckSumBytes = 2;

void put_word(std::vector<std::uint8_t>& bytes, std::size_t word) {
  bytes.push_back(static_cast<std::uint8_t>(word >> 8 & 0xff));
  bytes.push_back(static_cast<std::uint8_t>(word & 0xff));
}

bool reads_bits(std::uint8_t function) { return function == 1 || function == 2; }
bool is_read(std::uint8_t function) { return function >= 1 && function <= 4; }

std::size_t bytes_read(const Request& request) {
  return reads_bits(request.function) ? (request.count + 7u) / 8u : 2u * request.count;
}

// The value of a write of one bit or register, as it goes out and comes back.
std::uint16_t single_value(const Request& request) {
  const std::uint16_t value = request.values.at(0);
  if (request.function != 5) return value;
  return value != 0 ? kBitOn : std::uint16_t{0};
}

void put_values(std::vector<std::uint8_t>& bytes, const Request& request) {
  if (request.function == 16) {
    put_word(bytes, request.values.size());
    bytes.push_back(static_cast<std::uint8_t>(2 * request.values.size()));
  }
  for (const std::uint16_t value : request.values) put_word(bytes, value);
}

std::vector<std::uint8_t> pdu(const Request& request) {
  std::vector<std::uint8_t> bytes{request.function};
  put_word(bytes, request.address);
  if (is_read(request.function))
    put_word(bytes, request.count);
  else if (request.function == 5 || request.function == 6)
    put_word(bytes, single_value(request));
  else
    put_values(bytes, request);
  return bytes;
}

std::vector<std::uint8_t> in_tcp_frame(const Request& request,
                                       const std::vector<std::uint8_t>& body) {
  std::vector<std::uint8_t> bytes;
  put_word(bytes, request.transaction);
  put_word(bytes, 0);
  put_word(bytes, body.size() + 1);
  bytes.push_back(request.unit);
  bytes.insert(bytes.end(), body.begin(), body.end());
  return bytes;
}

std::vector<std::uint8_t> in_rtu_frame(const Request& request,
                                       const std::vector<std::uint8_t>& body) {
  std::vector<std::uint8_t> bytes{request.unit};
  bytes.insert(bytes.end(), body.begin(), body.end());
  const std::uint16_t crc = crc_of(bytes);
  bytes.push_back(static_cast<std::uint8_t>(crc & 0xff));
  bytes.push_back(static_cast<std::uint8_t>(crc >> 8));
  return bytes;
}

}  // namespace

std::vector<std::uint8_t> encode(const Request& request, Framing framing) {
  const std::vector<std::uint8_t> body = pdu(request);
  return framing == Framing::tcp ? in_tcp_frame(request, body) : in_rtu_frame(request, body);
}

AnswerParser::State AnswerParser::feed(std::span<const std::uint8_t> bytes) {
  if (bytes.empty()) return state_;
  if (state_ != State::needs_more) return garbled("bytes after the answer");
  const std::size_t room = buffer_.size() - filled_;
  if (bytes.size() > room) return garbled("more bytes than an answer can have");
  std::copy(bytes.begin(), bytes.end(), buffer_.begin() + static_cast<std::ptrdiff_t>(filled_));
  filled_ += bytes.size();
  return state_ = judge();
}

AnswerParser::State AnswerParser::judge() {
  if (filled_ <= data_at()) return State::needs_more;
  if (header_is_wrong()) return State::garbled;
  if (filled_ < expected_bytes()) return State::needs_more;
  if (filled_ > expected_bytes()) return garbled("bytes after the answer");
  if (check_sum_is_wrong()) return State::garbled;
  if (is_exception()) return State::refused;
  return body_is_wrong() ? State::garbled : State::done;
}

AnswerParser::State AnswerParser::garbled(std::string what) {
  fault_ = std::move(what);
  return state_ = State::garbled;
}

bool AnswerParser::header_is_wrong() {
  if (framing_ == Framing::tcp && tcp_header_is_wrong()) return true;
  if (buffer_[function_at() - 1] != request_.unit)
    garbled("answer of another unit");
  else if ((buffer_[function_at()] & ~kExceptionBit) != request_.function)
    garbled("answer to another function");
  else if (framing_ == Framing::tcp && word_at(4) + 6u != expected_bytes())
    garbled("answer of unexpected length");
  return !fault_.empty();
}

bool AnswerParser::tcp_header_is_wrong() {
  if (word_at(0) != request_.transaction)
    garbled("answer to another request");
  else if (word_at(2) != 0)
    garbled("unknown protocol");
  return !fault_.empty();
}

bool AnswerParser::body_is_wrong() {
  if (is_read(request_.function)) {
    if (buffer_[data_at()] != bytes_read(request_)) garbled("unexpected byte count");
    return !fault_.empty();
  }
  const std::size_t echo =
      request_.function == 16 ? request_.values.size() : single_value(request_);
  bool same = word_at(data_at()) == request_.address && word_at(data_at() + 2) == echo;
  if (request_.function == 22) same = same && word_at(data_at() + 4) == request_.values.at(1);
  if (!same) garbled("the echo of the write differs");
  return !fault_.empty();
}

bool AnswerParser::check_sum_is_wrong() {
  if (framing_ == Framing::tcp) return false;
  const std::size_t end = filled_ - kCheckSumBytes;
  const unsigned sent = static_cast<unsigned>(buffer_[end] | buffer_[end + 1] << 8);
  if (sent != crc_of({buffer_.data(), end})) garbled("wrong check sum");
  return !fault_.empty();
}

bool AnswerParser::is_exception() const { return (buffer_[function_at()] & kExceptionBit) != 0; }

std::size_t AnswerParser::expected_data_bytes() const {
  if (is_exception()) return 1;
  if (is_read(request_.function)) return 1 + bytes_read(request_);
  return request_.function == 22 ? 6 : 4;
}

std::size_t AnswerParser::expected_bytes() const {
  return data_at() + expected_data_bytes() + (framing_ == Framing::rtu ? kCheckSumBytes : 0);
}

std::uint16_t AnswerParser::word_at(std::size_t offset) const {
  return static_cast<std::uint16_t>(buffer_[offset] << 8 | buffer_[offset + 1]);
}

std::vector<std::uint16_t> AnswerParser::words() const {
  std::vector<std::uint16_t> result;
  const std::size_t first = data_at() + 1;
  for (std::size_t i = 0; i < request_.count; ++i)
    result.push_back(reads_bits(request_.function)
                         ? static_cast<std::uint16_t>(buffer_[first + i / 8] >> i % 8 & 1)
                         : word_at(first + 2 * i));
  return result;
}

int AnswerParser::exception() const { return buffer_[data_at()]; }

std::string exception_text(int exception) {
  switch (exception) {
    case 1:
      return "illegal function";
    case 2:
      return "illegal data address";
    case 3:
      return "illegal data value";
    case 4:
      return "device failure";
    case 5:
      return "accepted and not done yet";
    case 6:
      return "device busy";
    case 8:
      return "memory parity error";
    case 10:
      return "gateway has no path to the device";
    case 11:
      return "device behind the gateway does not answer";
    default:
      return "exception " + std::to_string(exception);
  }
}

}  // namespace endgate::daemon::modbus
