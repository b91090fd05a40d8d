// Which folder may include which?  The table of DEVELOPERS.md, "Layers", checked on every #include.

#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>
#include <map>
#include <regex>
#include <set>
#include <string>
#include <vector>

namespace {

namespace fs = std::filesystem;

struct Layer {
  std::string folder;                  // prefix of the including file
  std::vector<std::string> ours;       // prefixes of our headers it may include
  std::vector<std::string> libraries;  // prefixes of library headers; the standard library is free
};

// The most specific folder that matches a file rules it.
const std::vector<Layer> kLayers{
    {"analysis/",
     {"analysis/"},
     {"Eigen/", "unsupported/Eigen/FFT", "boost/math/", "boost/system/"}},
    {"schema/", {"schema/"}, {"sqlite3.h", "zstd.h", "sodium.h"}},
    {"reports/", {"reports/"}, {"nlohmann/"}},
    {"daemon/net/", {}, {"boost/"}},
    {"daemon/log/", {"daemon/log/"}, {"spdlog/"}},
    {"daemon/links/", {"daemon/links/"}, {"boost/"}},
    {"daemon/definitions/", {"daemon/definitions/", "analysis/"}, {"toml++/"}},
    {"daemon/bench/",
     {"daemon/bench/", "daemon/links/", "daemon/definitions/", "daemon/log/", "daemon/frame.h",
      "analysis/"},
     {"boost/"}},
    {"daemon/mapping/", {"daemon/mapping/", "daemon/definitions/", "analysis/", "schema/"}, {}},
    {"daemon/queries/", {"daemon/queries/", "daemon/mapping/", "analysis/", "schema/"}, {}},
    {"daemon/exchange/",
     {"daemon/exchange/", "daemon/queries/", "daemon/definitions/", "analysis/", "schema/"},
     {"nlohmann/"}},
    {"daemon/views/",
     {"daemon/views/", "daemon/queries/", "daemon/mapping/", "daemon/line/", "daemon/bench/",
      "daemon/definitions/", "daemon/frame.h", "analysis/", "schema/", "reports/"},
     {}},
    {"daemon/cli/",
     {"daemon/", "analysis/", "schema/", "reports/"},
     {"boost/", "nlohmann/", "CLI/", "sodium.h", "systemd/"}},
    {"daemon/line/",
     {"daemon/line/", "daemon/bench/", "daemon/definitions/", "daemon/exchange/", "daemon/log/",
      "daemon/mapping/", "daemon/queries/", "analysis/", "schema/"},
     {"boost/asio"}},
    // Benches are seen through daemon/line/ alone.
    {"daemon/service/",
     {"daemon/service/", "daemon/line/", "daemon/views/", "daemon/queries/", "daemon/exchange/",
      "daemon/definitions/", "daemon/log/", "analysis/", "schema/", "reports/"},
     {"boost/asio", "boost/beast", "nlohmann/", "sodium.h"}},
    {"daemon/", {"daemon/cli/", "analysis/"}, {}},
    {"fixtures/bench/physics/", {"fixtures/bench/physics/"}, {}},
    {"fixtures/bench/instruments/", {"fixtures/bench/"}, {}},
    {"fixtures/bench/", {"fixtures/bench/"}, {"boost/asio"}},
    {"fixtures/proxy/", {"fixtures/proxy/"}, {"boost/asio"}},
    {"fixtures/demo/", {"fixtures/demo/", "fixtures/bench/"}, {"boost/", "nlohmann/"}},
    {"fixtures/history/",
     {"fixtures/", "analysis/", "schema/", "daemon/bench/", "daemon/definitions/",
      "daemon/mapping/", "daemon/queries/", "daemon/frame.h"},
     {"boost/", "nlohmann/"}},
};

const Layer* layer_of(const std::string& file) {
  const Layer* best = nullptr;
  for (const Layer& layer : kLayers)
    if (file.starts_with(layer.folder) &&
        (best == nullptr || layer.folder.size() > best->folder.size()))
      best = &layer;
  return best;
}

bool starts_with_any(const std::string& header, const std::vector<std::string>& prefixes) {
  for (const std::string& prefix : prefixes)
    if (header.starts_with(prefix)) return true;
  return false;
}

// Standard and system headers: no slash or sys/, and not one of the libraries named above.
bool is_standard(const std::string& header) {
  static const std::set<std::string> kNotStandard{"sqlite3.h", "zstd.h", "sodium.h"};
  if (kNotStandard.contains(header)) return false;
  return header.find('/') == std::string::npos || header.starts_with("sys/") ||
         header.starts_with("netinet/") || header.starts_with("arpa/");
}

bool allowed(const Layer& layer, const std::string& header, bool quoted) {
  if (quoted) return starts_with_any(header, layer.ours);
  return is_standard(header) || starts_with_any(header, layer.libraries);
}

std::vector<std::string> source_files() {
  std::vector<std::string> files;
  const fs::path root = ENDGATE_SOURCE_DIR;
  for (const char* top : {"analysis", "schema", "reports", "daemon", "fixtures"})
    for (const auto& entry : fs::recursive_directory_iterator(root / top))
      if (entry.path().extension() == ".h" || entry.path().extension() == ".cpp")
        files.push_back(fs::relative(entry.path(), root).generic_string());
  return files;
}

TEST(Layers, NoFileIncludesWhatItsFolderMayNot) {
  const std::regex include(R"(^\s*#\s*include\s*([<"])([^>"]+)[>"])");
  std::size_t edges = 0;
  for (const std::string& file : source_files()) {
    const Layer* layer = layer_of(file);
    ASSERT_NE(layer, nullptr) << file << " lies in a folder without a rule";
    std::ifstream in(fs::path(ENDGATE_SOURCE_DIR) / file);
    std::smatch match;
    for (std::string line; std::getline(in, line);)
      if (std::regex_search(line, match, include)) {
        ++edges;
        EXPECT_TRUE(allowed(*layer, match[2], match[1] == "\""))
            << file << " may not include " << match[2];
      }
  }
  EXPECT_GT(edges, 100U) << "the test saw hardly any include: it looks in the wrong place";
}

TEST(Layers, TheServiceSeesNoBenchAndTheLineNoPage) {
  const auto may = [](const std::string& file, const std::string& header) {
    return allowed(*layer_of(file), header, true);
  };
  EXPECT_TRUE(may("daemon/line/station.cpp", "daemon/bench/bench.h"));
  EXPECT_FALSE(may("daemon/line/station.cpp", "daemon/service/message.h"));
  EXPECT_FALSE(may("daemon/line/station.cpp", "reports/node.h"));
  EXPECT_TRUE(may("daemon/service/routes.cpp", "daemon/line/application.h"));
  EXPECT_FALSE(may("daemon/service/routes.cpp", "daemon/bench/bench.h"));
}

TEST(Layers, TheProductNeverLinksTheSimulatedBench) {
  std::size_t looked_at = 0;
  for (const std::string& file : source_files()) {
    if (!file.starts_with("daemon/") && !file.starts_with("analysis/")) continue;
    ++looked_at;
    std::ifstream in(fs::path(ENDGATE_SOURCE_DIR) / file);
    for (std::string line; std::getline(in, line);)
      EXPECT_EQ(line.find("simbench::"), std::string::npos) << file;
  }
  EXPECT_GT(looked_at, 300U);
  // The simulated bench comes to be linked through CMake, not through an include.
  const std::regex link(R"(endgate_(simbench|history|proxy|bench_physics)|simbench)");
  std::size_t lists = 0;
  for (const char* top : {"analysis", "schema", "reports", "daemon"})
    for (const auto& entry : fs::recursive_directory_iterator(fs::path(ENDGATE_SOURCE_DIR) / top)) {
      if (entry.path().filename() != "CMakeLists.txt") continue;
      ++lists;
      std::ifstream in(entry.path());
      for (std::string line; std::getline(in, line);)
        EXPECT_FALSE(std::regex_search(line, link)) << entry.path() << ": " << line;
    }
  EXPECT_GT(lists, 5U);
}

}  // namespace
