#include "schema/named_pieces.h"

#include <algorithm>
#include <array>

#include "schema/canonical_bytes.h"

namespace endgate::schema {
namespace {

constexpr std::array<std::uint8_t, 4> kHead{0, 1, 0, 102};  // format u16, kind u16

using Marks = std::span<const std::uint8_t>;

std::uint64_t take_mark(Marks& in, std::size_t width) {
  if (width > in.size())
    throw StoreFault(StoreFault::Kind::damaged, "the marks of a long run end too early");
  std::uint64_t value = 0;
  for (const std::uint8_t byte : in.first(width)) value = value << 8 | byte;
  in = in.subspan(width);
  return value;
}

// One value and all that is in it, whatever it is: the bytes say their own lengths.
void skip_value(Marks& in) {
  for (std::uint64_t left = 1; left > 0; --left) {
    switch (static_cast<Tag>(take_mark(in, 1))) {
      case Tag::missing:
        break;
      case Tag::boolean:
        take_mark(in, 1);
        break;
      case Tag::integer:
      case Tag::real:
        take_mark(in, 8);
        break;
      case Tag::text:
      case Tag::bytes:
        take_mark(in, take_mark(in, 4));
        break;
      case Tag::list:
      case Tag::group:
        left += take_mark(in, 4);
        break;
      default:
        throw StoreFault(StoreFault::Kind::damaged, "the marks of a long run hold no such value");
    }
  }
}

NamedPiece take_piece(CanonicalReader& in) {
  if (in.group() != 2) in.damaged("a piece of a trace is not named by file and hash");
  NamedPiece piece{in.text(), {}};
  const Bytes hash = in.bytes();
  if (hash.size() != piece.sha256.size()) in.damaged("the hash of a piece has another length");
  std::ranges::copy(hash, piece.sha256.begin());
  return piece;
}

}  // namespace

std::vector<NamedPiece> named_pieces(Marks marks) {
  if (marks.size() < kHead.size() || !std::ranges::equal(marks.first(kHead.size()), kHead))
    return {};
  Marks rest = marks.subspan(kHead.size());
  skip_value(rest);  // the marks of the test
  CanonicalReader in(rest);
  std::vector<NamedPiece> pieces;
  for (std::size_t left = in.list(); left > 0; --left) pieces.push_back(take_piece(in));
  return pieces;
}

}  // namespace endgate::schema
