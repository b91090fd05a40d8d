#include "daemon/links/sample_block.h"

#include <algorithm>

namespace endgate::daemon {
namespace {

constexpr std::size_t kLengthBytes = 4;
constexpr std::size_t kMarkAt = 4, kVersionAt = 6, kColumnsAt = 7, kSequenceAt = 8, kTimeAt = 12,
                      kPeriodAt = 20, kSamplesAt = 24, kTypesAt = 26;
constexpr std::uint16_t kMark = 0x4253;
constexpr std::uint64_t kLastTime_us = std::uint64_t{1} << 62;

using Bytes = std::span<const std::uint8_t>;

std::uint64_t number_at(Bytes bytes, std::size_t at, std::size_t size) {
  std::uint64_t number = 0;
  for (std::size_t i = size; i-- > 0;) number = number << 8 | bytes[at + i];
  return number;
}

std::size_t bytes_of(std::uint8_t type) { return type == 0 ? 2 : 4; }

std::size_t data_bytes(Bytes block) {
  std::size_t row = 0;
  for (std::size_t i = 0; i < block[kColumnsAt]; ++i) row += bytes_of(block[kTypesAt + i]);
  return row * number_at(block, kSamplesAt, 2);
}

SampleColumn column_at(Bytes data, std::uint8_t type, std::size_t samples) {
  SampleColumn column{static_cast<SampleType>(type), std::vector<std::int32_t>(samples)};
  for (std::size_t i = 0; i < samples; ++i)
    column.raw[i] = type == 0 ? static_cast<std::int16_t>(data[2 * i] | data[2 * i + 1] << 8)
                              : static_cast<std::int32_t>(number_at(data, 4 * i, 4));
  return column;
}

std::shared_ptr<const SampleBlock> block_of(Bytes bytes) {
  auto block = std::make_shared<SampleBlock>();
  block->sequence = static_cast<std::uint32_t>(number_at(bytes, kSequenceAt, 4));
  block->first_us = static_cast<std::int64_t>(number_at(bytes, kTimeAt, 8));
  block->period_ns = static_cast<std::int64_t>(number_at(bytes, kPeriodAt, 4));
  const std::size_t samples = number_at(bytes, kSamplesAt, 2);
  std::size_t at = kTypesAt + bytes[kColumnsAt];
  for (std::size_t i = 0; i < bytes[kColumnsAt]; ++i) {
    const std::uint8_t type = bytes[kTypesAt + i];
    block->columns.push_back(column_at(bytes.subspan(at), type, samples));
    at += samples * bytes_of(type);
  }
  return block;
}

}  // namespace

std::size_t SampleBlockParser::wanted_bytes() const {
  if (buffer_.size() < kLengthBytes) return kLengthBytes;
  return kLengthBytes + number_at(buffer_, 0, 4);
}

bool SampleBlockParser::feed(Bytes bytes, std::vector<std::shared_ptr<const SampleBlock>>& blocks) {
  while (fault_.empty() && !bytes.empty()) {
    const std::size_t count = std::min(wanted_bytes() - buffer_.size(), bytes.size());
    buffer_.insert(buffer_.end(), bytes.begin(), bytes.begin() + static_cast<long>(count));
    bytes = bytes.subspan(count);
    if (buffer_.size() < kLengthBytes || !fault_.empty()) continue;
    if (wanted_bytes() > kLengthBytes + kLargestBlock)
      fault_ = "a block larger than allowed";
    else if (buffer_.size() == wanted_bytes() && !take_block(blocks))
      break;
  }
  return fault_.empty();
}

bool SampleBlockParser::take_block(std::vector<std::shared_ptr<const SampleBlock>>& blocks) {
  if (header_is_wrong()) return false;
  blocks.push_back(block_of(buffer_));
  buffer_.clear();
  return true;
}

bool SampleBlockParser::header_is_wrong() {
  if (buffer_.size() < kTypesAt)
    fault_ = "a block without a whole header";
  else if (number_at(buffer_, kMarkAt, 2) != kMark || buffer_[kVersionAt] != 1)
    fault_ = "no block of samples of version 1";
  else if (buffer_[kColumnsAt] == 0 || buffer_[kColumnsAt] > kMostColumns)
    fault_ = "a block of no or too many columns";
  else if (buffer_.size() < kTypesAt + buffer_[kColumnsAt])
    fault_ = "a block without its column types";
  else if (std::any_of(buffer_.begin() + kTypesAt, buffer_.begin() + kTypesAt + buffer_[kColumnsAt],
                       [](std::uint8_t type) { return type > 2; }))
    fault_ = "a column of unknown type";
  else if (number_at(buffer_, kSamplesAt, 2) == 0 || number_at(buffer_, kPeriodAt, 4) == 0)
    fault_ = "a block without samples or period";
  else if (number_at(buffer_, kTimeAt, 8) > kLastTime_us)
    fault_ = "a device time beyond all sense";
  else if (buffer_.size() != kTypesAt + buffer_[kColumnsAt] + data_bytes(buffer_))
    fault_ = "a block whose length does not fit its samples";
  return !fault_.empty();
}

}  // namespace endgate::daemon
