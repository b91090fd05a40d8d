// The fuzz target of all parsers of the links, for clang's libFuzzer:
//
//   clang++-14 -std=c++20 -I. -g -O1 -fsanitize=fuzzer,address,undefined
//       tests/links/fuzz/parsers.cpp
//       daemon/links/{modbus_pdu,recorded_rows,recorded_run,sample_block,scpi_answer}.cpp
//       daemon/links/scpi_dialogue.cpp -o fuzz_links &&
//       ./fuzz_links -max_total_time=60 new_corpus tests/links/corpus

#include "tests/links/parser_input.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  endgate::tests::read_by_a_parser({data, size});
  return 0;
}
