#include "daemon/cli/parse_command_line.h"

#include <algorithm>
#include <iostream>
#include <string>
#include <vector>

#include "daemon/cli/command_table.h"
#include "daemon/cli/exit_status.h"
#include "daemon/definitions/nearest_name.h"
#include "daemon/line/version.h"

namespace endgate::daemon {
namespace {

constexpr std::size_t kHelpColumn = 34;
constexpr const char* kFooter =
    "Exit status: 0 ok, 1 verdict or check negative, 2 usage, 3 configuration, 4 device,\n"
    "5 storage, 6 busy, 70 internal.  Data goes to standard output, talk to standard error.";

class Parser {
 public:
  std::variant<Command, int> parse(int argc, const char* const* argv) {
    describe();
    if (argc > 1 && is_unknown(argv[1])) return kUsage;
    try {
      app_.parse(argc, argv);
    } catch (const CLI::ParseError& error) {
      // Help and version end well; everything else is usage, whatever the library calls it.
      return app_.exit(error) == 0 ? kOk : kUsage;
    }
    return commands_.chosen();
  }

 private:
  // The library only says that a command is required.
  bool is_unknown(const std::string& word) {
    std::vector<std::string> names;
    for (const CLI::App* each : app_.get_subcommands([](CLI::App*) { return true; }))
      names.push_back(each->get_name());
    if (word.starts_with("-") || std::ranges::find(names, word) != names.end()) return false;
    const std::string nearest = nearest_name(word, names);
    std::cerr << "endgate: there is no command \"" << word << "\""
              << (nearest.empty() ? "; see endgate --help" : "; did you mean \"" + nearest + "\"?")
              << "\n";
    return true;
  }

  void describe() {
    app_.set_version_flag("--version", software_version());
    app_.get_formatter()->column_width(kHelpColumn);
    app_.require_subcommand(1);
    app_.footer(kFooter);
    describe_bench_commands(commands_);
    describe_unit_commands(commands_);
    describe_question_commands(commands_);
    describe_store_commands(commands_);
  }

  CLI::App app_{"End-of-line test service for small air compressors", "endgate"};
  CommandTable commands_{app_};
};

}  // namespace

std::variant<Command, int> parse_command_line(int argc, const char* const* argv) {
  return Parser().parse(argc, argv);
}

}  // namespace endgate::daemon
