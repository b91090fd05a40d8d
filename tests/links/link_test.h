// What the tests of every link share: one io_context, one link, and waiting with an end.

#pragma once

#include <gtest/gtest.h>

#include <boost/asio/io_context.hpp>

#include "daemon/links/link.h"
#include "daemon/links/sample_block.h"

namespace endgate::daemon {

class LinkTest : public ::testing::Test {
 protected:
  boost::asio::io_context io;
  std::shared_ptr<Link> link;
  std::vector<LinkError> losses;
  int openings = 0;
  std::vector<std::uint32_t> told;  // blocks of a stream, by their number

  void open(std::shared_ptr<Link> made) {
    link = std::move(made);
    link->open({[this] { ++openings; }, [this](const LinkError& why) { losses.push_back(why); },
                [this](const SampleBlock& block, auto) { told.push_back(block.sequence); }});
  }

  void TearDown() override {
    if (link) link->close();
  }

  // Runs the loop until the condition holds; gives up after ten seconds so that a defect fails
  // the test instead of hanging it.
  template <class Condition>
  void until(Condition condition) {
    const auto give_up = std::chrono::steady_clock::now() + std::chrono::seconds(10);
    while (!condition()) {
      ASSERT_LT(std::chrono::steady_clock::now(), give_up);
      io.run_one_for(std::chrono::milliseconds(10));
    }
  }
  void until_open() {
    until([this] { return link->is_open(); });
  }

  ReadAnswer read(std::vector<RegisterSpan> spans) {
    std::optional<ReadAnswer> result;
    link->read(std::move(spans), [&](ReadAnswer answer) { result = std::move(answer); });
    until([&] { return result.has_value(); });
    return result.value_or(ReadAnswer{});
  }

  std::optional<LinkError> write(RegisterWrite what) {
    std::optional<std::optional<LinkError>> result;
    link->write(std::move(what), Link::Urgency::in_turn, [&](auto error) { result = error; });
    until([&] { return result.has_value(); });
    return result.value_or(std::nullopt);
  }
};

}  // namespace endgate::daemon
