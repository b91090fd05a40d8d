#include "daemon/links/modbus_pdu.h"

#include <algorithm>

namespace endgate::daemon::modbus {
namespace {

constexpr std::uint8_t kExceptionBit = 0x80;
constexpr std::size_t kFunctionAt = 7;
constexpr std::size_t kDataAt = 8;

void put_word(std::vector<std::uint8_t>& bytes, std::size_t word) {
  bytes.push_back(static_cast<std::uint8_t>(word >> 8 & 0xff));
  bytes.push_back(static_cast<std::uint8_t>(word & 0xff));
}

bool is_read(std::uint8_t function) { return function == 3 || function == 4; }

std::vector<std::uint8_t> pdu(const Request& request) {
  std::vector<std::uint8_t> bytes{request.function};
  put_word(bytes, request.address);
  if (is_read(request.function)) {
    put_word(bytes, request.count);
  } else if (request.function == 6) {
    put_word(bytes, request.values.at(0));
  } else {
    put_word(bytes, request.values.size());
    bytes.push_back(static_cast<std::uint8_t>(2 * request.values.size()));
    for (const std::uint16_t value : request.values) put_word(bytes, value);
  }
  return bytes;
}

}  // namespace

std::vector<std::uint8_t> encode(const Request& request) {
  const std::vector<std::uint8_t> body = pdu(request);
  std::vector<std::uint8_t> bytes;
  put_word(bytes, request.transaction);
  put_word(bytes, 0);
  put_word(bytes, body.size() + 1);
  bytes.push_back(request.unit);
  bytes.insert(bytes.end(), body.begin(), body.end());
  return bytes;
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
  if (filled_ <= kDataAt) return State::needs_more;
  if (header_is_wrong()) return State::garbled;
  if (filled_ < expected_bytes()) return State::needs_more;
  if (filled_ > expected_bytes()) return garbled("bytes after the answer");
  if (is_exception()) return State::refused;
  return body_is_wrong() ? State::garbled : State::done;
}

AnswerParser::State AnswerParser::garbled(std::string what) {
  fault_ = std::move(what);
  return state_ = State::garbled;
}

bool AnswerParser::header_is_wrong() {
  const std::uint8_t function = buffer_[kFunctionAt] & 0x7f;
  if (word_at(0) != request_.transaction)
    garbled("answer to another request");
  else if (word_at(2) != 0)
    garbled("unknown protocol");
  else if (buffer_[6] != request_.unit)
    garbled("answer of another unit");
  else if (function != request_.function)
    garbled("answer to another function");
  else if (word_at(4) + 6u != expected_bytes())
    garbled("answer of unexpected length");
  return !fault_.empty();
}

bool AnswerParser::body_is_wrong() {
  if (is_read(request_.function)) {
    if (buffer_[kDataAt] != 2 * request_.count) garbled("unexpected byte count");
  } else {
    const std::size_t echo =
        request_.function == 6 ? request_.values.at(0) : request_.values.size();
    if (word_at(kDataAt) != request_.address || word_at(kDataAt + 2) != echo)
      garbled("the echo of the write differs");
  }
  return !fault_.empty();
}

bool AnswerParser::is_exception() const { return (buffer_[kFunctionAt] & kExceptionBit) != 0; }

std::size_t AnswerParser::expected_bytes() const {
  if (is_exception()) return kDataAt + 1;
  if (is_read(request_.function)) return kDataAt + 1 + 2u * request_.count;
  return kDataAt + 4;
}

std::uint16_t AnswerParser::word_at(std::size_t offset) const {
  return static_cast<std::uint16_t>(buffer_[offset] << 8 | buffer_[offset + 1]);
}

std::vector<std::uint16_t> AnswerParser::words() const {
  std::vector<std::uint16_t> result;
  for (std::size_t i = 0; i < request_.count; ++i) result.push_back(word_at(kDataAt + 1 + 2 * i));
  return result;
}

int AnswerParser::exception() const { return buffer_[kDataAt]; }

const char* exception_text(int exception) {
  switch (exception) {
    case 1:
      return "illegal function";
    case 2:
      return "illegal data address";
    case 3:
      return "illegal data value";
    case 4:
      return "device failure";
    case 6:
      return "device busy";
    default:
      return "exception";
  }
}

}  // namespace endgate::daemon::modbus
