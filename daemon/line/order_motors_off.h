// How does a service that cannot begin keep its first promise?
//
// Motor off goes out before anything else at every start, also at one that ends because the store
// cannot be opened.  Which texts were accepted is then unknown: every bench file of the folder that
// can be read is obeyed as it stands.  A bench that another service holds is left alone as ever.

#pragma once

#include <chrono>
#include <filesystem>
#include <string>
#include <vector>

namespace endgate::daemon {

struct MotorsOff {
  std::vector<std::string> read_back;      // ids of benches
  std::vector<std::string> not_read_back;  // nobody knows whether their motor runs
};

// Blocks for `at_most`, and as long again at the utmost while the benches are given back.
[[nodiscard]] MotorsOff order_motors_off(const std::filesystem::path& config_folder,
                                         std::chrono::milliseconds at_most);

// "Motor off was read back from bench north.", and what a person has to do about the others.
[[nodiscard]] std::string text_of(const MotorsOff& motors);

}  // namespace endgate::daemon
