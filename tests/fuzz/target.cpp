// One fuzz target: its parser is named by the build (tests/fuzz/CMakeLists.txt).

#include ENDGATE_FUZZ_HEADER

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  endgate::tests::ENDGATE_FUZZ_PARSER({data, size});
  return 0;
}
