// Does each code of a refusal stand for one thing?  People look codes up, and programs decide by them.

#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>
#include <map>
#include <regex>
#include <set>
#include <string>

namespace {

namespace fs = std::filesystem;

// By code the files that say it.  A command reads codes, and a comment only names them.
std::map<std::string, std::set<std::string>> places_of_codes() {
  std::map<std::string, std::set<std::string>> places;
  const std::regex literal(R"re("(U-[0-9]{3})")re");
  const fs::path root = ENDGATE_SOURCE_DIR;
  for (const auto& entry : fs::recursive_directory_iterator(root / "daemon")) {
    const std::string file = fs::relative(entry.path(), root).generic_string();
    if (file.starts_with("daemon/cli/") || (!file.ends_with(".h") && !file.ends_with(".cpp")))
      continue;
    std::ifstream in(entry.path());
    for (std::string line; std::getline(in, line);) {
      const std::string code_only = line.substr(0, line.find("//"));
      for (std::sregex_iterator hit(code_only.begin(), code_only.end(), literal), none; hit != none;
           ++hit)
        places[(*hit)[1]].insert(file);
    }
  }
  return places;
}

TEST(Codes, ARefusalOfAPersonIsSaidInOneFile) {
  // One thing, asked about in two places: what was accepted since the scan, an unknown alarm.
  const std::set<std::string> one_thing{"U-114", "U-232"};
  const auto places = places_of_codes();
  EXPECT_GT(places.size(), 30U) << "the test saw hardly any code: it looks in the wrong place";
  for (const auto& [code, files] : places) {
    if (one_thing.contains(code)) continue;
    EXPECT_EQ(files.size(), 1U) << code << " is said in " << *files.begin() << " and "
                                << *files.rbegin();
  }
}

}  // namespace
