// The kept corpus of a parser (tests/fuzz/corpus) and damaged copies of it: no parser may stop, read
// beyond its bytes or grow without bound.  Run with the sanitizers to see the second.

#pragma once

#include <algorithm>
#include <cstdint>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <random>
#include <span>
#include <string>
#include <vector>

namespace endgate::tests {

using CorpusBytes = std::vector<std::uint8_t>;

inline std::vector<CorpusBytes> files_of(const std::filesystem::path& folder) {
  std::vector<std::filesystem::path> files;
  for (const auto& entry : std::filesystem::directory_iterator(folder))
    if (entry.is_regular_file()) files.push_back(entry.path());
  std::ranges::sort(files);
  std::vector<CorpusBytes> kept;
  for (const auto& file : files) {
    std::ifstream in(file, std::ios::binary);
    kept.emplace_back(std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>());
  }
  return kept;
}
inline std::vector<CorpusBytes> kept_corpus(const std::string& parser) {
  return files_of(std::filesystem::path(ENDGATE_SOURCE_DIR) / "tests/fuzz/corpus" / parser);
}

inline void damage(CorpusBytes& bytes, std::mt19937& random) {
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
      const CorpusBytes copy(place, bytes.end());  // a stretch that comes twice
      bytes.insert(bytes.end(), copy.begin(), copy.end());
    }
  }
}

// Calls `read` with so many damaged copies of each.
template <class Read>
void read_damaged(const std::vector<CorpusBytes>& kept, int copies, Read read) {
  std::mt19937 random(20261125);
  for (const CorpusBytes& bytes : kept)
    for (int i = 0; i < copies && !bytes.empty(); ++i) {
      CorpusBytes damaged = bytes;
      for (auto times = random() % 6 + 1; times > 0; --times) damage(damaged, random);
      read(damaged);
    }
}

}  // namespace endgate::tests
