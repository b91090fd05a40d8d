// The kept corpus of what devices said, and hundreds of thousands of damaged copies: no parser may
// stop, read beyond its bytes or grow without bound.  Run it with the sanitizers to see the second.

#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>
#include <iterator>
#include <random>

#include "tests/links/parser_input.h"

namespace endgate::tests {
namespace {

using Bytes = std::vector<std::uint8_t>;

std::vector<Bytes> corpus() {
  std::vector<std::filesystem::path> files;
  for (const auto& entry : std::filesystem::directory_iterator(
           std::filesystem::path(ENDGATE_SOURCE_DIR) / "tests/links/corpus"))
    files.push_back(entry.path());
  std::ranges::sort(files);
  std::vector<Bytes> kept;
  for (const auto& file : files) {
    std::ifstream in(file, std::ios::binary);
    kept.emplace_back(std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>());
  }
  return kept;
}

void damage(Bytes& bytes, std::mt19937& random) {
  const std::size_t at = random() % bytes.size();
  const auto place = bytes.begin() + static_cast<long>(at);
  switch (random() % 5) {
    case 0:
      bytes[at] = static_cast<std::uint8_t>(random());
      break;
    case 1:
      bytes[at] ^= static_cast<std::uint8_t>(1 << random() % 8);
      break;
    case 2:
      bytes.insert(place, static_cast<std::uint8_t>(random()));
      break;
    case 3:
      if (bytes.size() > 3) bytes.erase(place);
      break;
    default: {
      const Bytes copy(place, bytes.end());  // a stretch that comes twice
      bytes.insert(bytes.end(), copy.begin(), copy.end());
    }
  }
}

TEST(ParserCorpus, IsReadWithoutHarm) {
  const std::vector<Bytes> kept = corpus();
  ASSERT_GE(kept.size(), 10u) << "the corpus is not where the test looks";
  for (const Bytes& bytes : kept) read_by_a_parser(bytes);
}

TEST(ParserCorpus, IsReadWithoutHarmInDamagedCopies) {
  std::mt19937 random(20261125);
  for (const Bytes& bytes : corpus())
    for (int i = 0; i < 5000; ++i) {
      Bytes damaged = bytes;
      for (auto times = random() % 6 + 1; times > 0; --times) damage(damaged, random);
      read_by_a_parser(damaged);
    }
}

}  // namespace
}  // namespace endgate::tests
