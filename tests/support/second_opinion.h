// What does the verifier in another language say of a store?

#pragma once

#include <stdio.h>
#include <sys/wait.h>

#include <array>
#include <filesystem>
#include <string>

namespace endgate::test {

struct SecondOpinion {
  int status = -1;
  std::string text;
};

// The Python of the packages that fixtures/packages.txt names, not another one in the path.
inline SecondOpinion second_opinion(const std::filesystem::path& folder) {
  const std::string command = "/usr/bin/python3 '" ENDGATE_SOURCE_DIR "/schema/verify_store.py' '" +
                              folder.string() + "' 2>&1";
  FILE* pipe = popen(command.c_str(), "r");
  SecondOpinion answer;
  if (pipe == nullptr) return answer;
  std::array<char, 256> part{};
  while (fgets(part.data(), part.size(), pipe) != nullptr) answer.text += part.data();
  answer.status = WEXITSTATUS(pclose(pipe));
  return answer;
}

}  // namespace endgate::test
