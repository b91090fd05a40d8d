#include "schema/copied_record.h"

#include <algorithm>

#include "schema/durable_file.h"
#include "schema/put_number.h"
#include "schema/seal.h"

namespace endgate::schema {
namespace {

constexpr const char* kFactFile = "record.fact";
constexpr const char* kCopiedTrace = "trace.bin";
constexpr std::uint16_t kCopyFormat = 1;

[[noreturn]] void damaged(const std::filesystem::path& path, const std::string& what) {
  throw StoreFault(StoreFault::Kind::damaged, path.string() + ": " + what + "; copy it out again");
}

void put(Bytes& out, std::span<const std::uint8_t> bytes) {
  out.insert(out.end(), bytes.begin(), bytes.end());
}

class Parts {
 public:
  Parts(const std::filesystem::path& path, const Bytes& bytes) : path_(path), rest_(bytes) {}

  std::span<const std::uint8_t> take(std::size_t count) {
    if (count > rest_.size()) damaged(path_, "ends too early");
    const auto taken = rest_.first(count);
    rest_ = rest_.subspan(count);
    return taken;
  }
  std::uint64_t number(std::size_t width) {
    std::uint64_t value = 0;
    for (const std::uint8_t byte : take(width)) value = value << 8 | byte;
    return value;
  }
  Hash hash() {
    Hash value{};
    std::ranges::copy(take(value.size()), value.begin());
    return value;
  }
  void end() const {
    if (!rest_.empty()) damaged(path_, "bytes follow the fact");
  }

 private:
  std::filesystem::path path_;
  std::span<const std::uint8_t> rest_;
};

Bytes store_id_bytes(const std::string& hex) {
  Bytes bytes;
  for (std::size_t i = 0; i + 1 < hex.size(); i += 2)
    bytes.push_back(static_cast<std::uint8_t>(std::stoi(hex.substr(i, 2), nullptr, 16)));
  return bytes;
}

Bytes fact_file(const std::string& store_id, const StoreReader::SealedFact& fact) {
  Bytes out;
  put_number(out, kCopyFormat, 2);
  put(out, store_id_bytes(store_id));
  put_number(out, static_cast<std::uint64_t>(fact.position), 8);
  put(out, fact.previous_head);
  put(out, fact.head);
  put_number(out, fact.bytes.size(), 4);
  put(out, fact.bytes);
  return out;
}

Record record_in(const std::filesystem::path& path, std::span<const std::uint8_t> bytes) {
  Fact fact = decode_fact(bytes);
  if (auto* record = std::get_if<Record>(&fact)) return std::move(*record);
  damaged(path, "is not a record");
}

CopiedRecord read_fact(const std::filesystem::path& path, const Bytes& bytes) {
  Parts parts(path, bytes);
  if (parts.number(2) != kCopyFormat) damaged(path, "is not a copied record of format 1");
  CopiedRecord copied;
  copied.store_id = hex_of(parts.take(16));
  copied.stored.position = static_cast<Position>(parts.number(8));
  const Hash previous = parts.hash();
  copied.stored.head = parts.hash();
  const auto fact = parts.take(static_cast<std::size_t>(parts.number(4)));
  parts.end();
  if (head_of(previous, copied.stored.position, leaf_of(fact)) != copied.stored.head)
    damaged(path, "bytes do not match their head");
  copied.stored.record = record_in(path, fact);
  return copied;
}

std::optional<Trace> read_trace(const std::filesystem::path& path, const Record& record) {
  const auto bytes = read_file(path);
  if (!bytes || !record.trace_sha256) return std::nullopt;
  Trace trace = decode(*bytes);
  if (hash_of(trace) != *record.trace_sha256) damaged(path, "the trace does not match its hash");
  return trace;
}

void refuse_unless_empty(const std::filesystem::path& folder) {
  std::filesystem::create_directories(folder);
  if (!std::filesystem::is_empty(folder))
    throw StoreFault(StoreFault::Kind::refused,
                     folder.string() + " is not empty; name an empty folder for the copy");
}

}  // namespace

void copy_out(const StoreReader& from, Position position, const std::filesystem::path& to_folder) {
  const auto fact = from.sealed_fact(position);
  const auto record = from.record_at(position);
  if (!fact || !record)
    throw StoreFault(StoreFault::Kind::refused,
                     "there is no record at position " + std::to_string(position));
  refuse_unless_empty(to_folder);
  if (const auto trace = from.trace_bytes_of(record->record))
    write_durably(to_folder / kCopiedTrace, *trace, 0644);
  write_durably(to_folder / kFactFile, fact_file(from.store_id(), *fact), 0644);
}

bool holds_copied_record(const std::filesystem::path& folder) {
  return std::filesystem::exists(folder / kFactFile);
}

CopiedRecord read_copied_record(const std::filesystem::path& folder) {
  const auto bytes = read_file(folder / kFactFile);
  if (!bytes)
    throw StoreFault(StoreFault::Kind::io, "there is no " + (folder / kFactFile).string());
  CopiedRecord copied = read_fact(folder / kFactFile, *bytes);
  copied.trace = read_trace(folder / kCopiedTrace, copied.stored.record);
  return copied;
}

}  // namespace endgate::schema
