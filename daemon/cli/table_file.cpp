#include "daemon/cli/table_file.h"

#include <algorithm>
#include <fstream>
#include <iostream>

#include "daemon/cli/store_place.h"

namespace endgate::daemon {

std::string text_of_table(const std::filesystem::path& path) {
  std::ifstream in(path, std::ios::binary);
  if (!in || std::filesystem::is_directory(path))
    throw ConfigurationFault(path.string() + ": expected a readable file");
  std::string text(kMostTableBytes + 1, '\0');
  in.read(text.data(), static_cast<std::streamsize>(text.size()));
  text.resize(static_cast<std::size_t>(in.gcount()));
  return text;
}

std::string table_form_of(const std::filesystem::path& path, const std::string& form) {
  if (!form.empty()) return form == "csv" ? "csv" : "json_lines";
  const auto by_name = table_form_of(path.string());
  if (!by_name)
    throw ConfigurationFault(path.string() +
                             ": expected a name that ends in .csv or .jsonl; or say --form");
  return *by_name == TableForm::csv ? "csv" : "json_lines";
}

void tell_faults(const std::filesystem::path& path, const std::vector<TableFault>& faults) {
  const std::size_t told = std::min(faults.size(), kMostFaultsTold);
  for (std::size_t i = 0; i < told; ++i) std::cerr << say(faults[i], path.string() + ":") << "\n";
  if (told < faults.size()) std::cerr << "and " << faults.size() - told << " more\n";
}

}  // namespace endgate::daemon
