// In which order are the marks of a long run sealed?  Document kind 102; see trace_pieces.h.

#pragma once

#include "daemon/mapping/context_fields.h"
#include "daemon/mapping/trace_pieces.h"

namespace endgate::schema {

inline constexpr std::uint16_t kLongMarksKind = 102;

template <>
inline constexpr auto kFields<daemon::TracePiece> = std::tuple{
    Field{"file", &daemon::TracePiece::file}, Field{"sha256", &daemon::TracePiece::sha256}};

template <>
inline constexpr auto kFields<daemon::LongTrace> = std::tuple{
    Field{"marks", &daemon::LongTrace::marks}, Field{"pieces", &daemon::LongTrace::pieces}};

[[nodiscard]] inline bool is_long(std::span<const std::uint8_t> marks) {
  CanonicalReader in(marks);
  return read_document_head(in).kind == kLongMarksKind;
}

}  // namespace endgate::schema
