#include "schema/seal.h"

#include "schema/fact_fields.h"

namespace endgate::schema {
namespace {

template <class Kind>
Fact read_rest(CanonicalReader& in) {
  Kind fact;
  read_document_fields(in, fact);
  return fact;
}

}  // namespace

FactKind kind_of(const Fact& fact) { return static_cast<FactKind>(fact.index() + 1); }

Bytes encode(const Fact& fact) {
  const auto kind = static_cast<std::uint16_t>(kind_of(fact));
  return std::visit([&](const auto& value) { return encode_document(kind, value); }, fact);
}

Fact decode_fact(std::span<const std::uint8_t> bytes) {
  CanonicalReader in(bytes);
  switch (static_cast<FactKind>(read_document_head(in).kind)) {
    case FactKind::store_opened:
      return read_rest<StoreOpened>(in);
    case FactKind::definition:
      return read_rest<Definition>(in);
    case FactKind::test_start:
      return read_rest<TestStart>(in);
    case FactKind::record:
      return read_rest<Record>(in);
    case FactKind::repair:
      return read_rest<Repair>(in);
    case FactKind::bench_event:
      return read_rest<BenchEvent>(in);
    case FactKind::lots:
      return read_rest<Lots>(in);
    case FactKind::disposition:
      return read_rest<Disposition>(in);
    case FactKind::return_intake:
      return read_rest<ReturnIntake>(in);
    case FactKind::alarm:
      return read_rest<Alarm>(in);
    case FactKind::imported_test:
      return read_rest<ImportedTest>(in);
    case FactKind::trace_removed:
      return read_rest<TraceRemoved>(in);
    case FactKind::bench_check:
      return read_rest<BenchCheck>(in);
    case FactKind::withdrawal:
      return read_rest<Withdrawal>(in);
  }
  in.damaged("no such kind of fact");
}

Hash leaf_of(std::span<const std::uint8_t> bytes) { return Sha256().byte(0).bytes(bytes).done(); }

Hash head_of(const Hash& previous, Position position, const Hash& leaf) {
  return Sha256()
      .byte(1)
      .bytes(previous)
      .u64(static_cast<std::uint64_t>(position))
      .bytes(leaf)
      .done();
}

Bytes signed_message(const StoreId& store, Position position, const Hash& head) {
  Bytes message{2};
  message.insert(message.end(), store.begin(), store.end());
  for (int shift = 56; shift >= 0; shift -= 8)
    message.push_back(static_cast<std::uint8_t>(static_cast<std::uint64_t>(position) >> shift));
  message.insert(message.end(), head.begin(), head.end());
  return message;
}

}  // namespace endgate::schema
