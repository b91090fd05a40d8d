// How is a command described?  Its words, its options, and the value they fill.
//
// Only the describe_*_commands.cpp beside this file and parse_command_line.cpp include it: nobody
// else knows the command-line library.

#pragma once

#include <CLI/CLI.hpp>
#include <memory>
#include <utility>

#include "daemon/cli/commands.h"

namespace endgate::daemon {

class CommandTable {
 public:
  explicit CommandTable(CLI::App& root) : root_(root) {}

  // One command, and when it is the one, what was read is chosen.
  template <class C, class Add>
  void subcommand(const char* name, const char* text, Add add_options) {
    subcommand<C>(root_, name, text, add_options);
  }
  template <class C, class Add>
  void subcommand(CLI::App& of, const char* name, const char* text, Add add_options) {
    CLI::App* app = of.add_subcommand(name, text);
    const auto command = std::make_shared<C>();
    add_options(*app, *command);
    app->callback([this, command] { chosen_ = *command; });
  }

  [[nodiscard]] CLI::App& root() { return root_; }
  [[nodiscard]] const Command& chosen() const { return chosen_; }

 private:
  CLI::App& root_;
  Command chosen_;
};

void describe_bench_commands(CommandTable& commands);
void describe_unit_commands(CommandTable& commands);
void describe_question_commands(CommandTable& commands);
void describe_store_commands(CommandTable& commands);

// Options that many commands share.
void add_config(CLI::App& app, std::filesystem::path& config);
void need_config(CLI::App& app, std::filesystem::path& config);
void add_store(CLI::App& app, StorePlace& store);
void add_tests(CLI::App& app, TestsAsked& asked);  // which tests a question is about
void add_metric(CLI::App& app, TestsAsked& asked);
void add_purpose(CLI::App& app, TestsAsked& asked);  // of add_metric(), where there is none

}  // namespace endgate::daemon
