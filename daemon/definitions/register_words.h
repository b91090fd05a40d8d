// The words of a bench file for the type and the word order of a register.

#pragma once

#include <array>

#include "daemon/definitions/bench_definition.h"
#include "daemon/definitions/toml_reader.h"

namespace endgate::daemon {

inline constexpr std::array<NamedValue<RegisterType>, 6> kRegisterTypes{
    {{"u16", RegisterType::u16},
     {"i16", RegisterType::i16},
     {"u32", RegisterType::u32},
     {"i32", RegisterType::i32},
     {"f32", RegisterType::f32},
     {"f64", RegisterType::f64}}};
inline constexpr std::array<NamedValue<WordOrder>, 2> kWordOrders{
    {{"high_first", WordOrder::high_first}, {"low_first", WordOrder::low_first}}};

}  // namespace endgate::daemon
