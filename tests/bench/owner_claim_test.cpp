#include "daemon/bench/owner_claim.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <functional>
#include <map>
#include <random>
#include <vector>

namespace endgate::tests {
namespace {

using namespace std::chrono_literals;
using daemon::OwnerClaim;
using Step = OwnerClaim::Step;
using Steady = OwnerClaim::Steady;

constexpr auto kStands = 550ms;

class OwnerClaimTest : public ::testing::Test {
 protected:
  OwnerClaim claim{7, kStands};
  Steady now{1000s};

  void SetUp() override { claim.opened(now); }
  // Asked and answered 10 ms later.
  Step read(std::optional<std::uint16_t> word) {
    const Steady asked_at = now;
    claim.asked();
    EXPECT_FALSE(claim.read_due(now + 1h)) << "one question at a time";
    now += 10ms;
    return claim.on_read(word, asked_at, now);
  }
  void take() {
    ASSERT_EQ(read(0), Step::write);
    claim.on_written(now);
    now += kStands;
    ASSERT_EQ(read(7), Step::taken);
  }
};

TEST_F(OwnerClaimTest, OwnsAFreeBenchOnceItsWordHasStood) {
  ASSERT_TRUE(claim.read_due(now));
  EXPECT_EQ(read(0), Step::write);
  claim.on_written(now);
  EXPECT_FALSE(claim.read_due(now + kStands - 1ms));
  EXPECT_EQ(read(7), Step::none) << "asked too early";
  EXPECT_FALSE(claim.owns(now));
  now += kStands;
  EXPECT_TRUE(claim.read_due(now));
  EXPECT_EQ(read(7), Step::taken);
  EXPECT_TRUE(claim.owns(now));
}

TEST_F(OwnerClaimTest, TakesWhatAPredecessorOfItsOwnLeft) { EXPECT_EQ(read(7), Step::taken); }

TEST_F(OwnerClaimTest, LeavesABenchThatAnotherOneHolds) {
  EXPECT_EQ(read(9), Step::none);
  EXPECT_EQ(claim.holder(), 9);
  EXPECT_FALSE(claim.read_due(now + OwnerClaim::kAgain - 1ms));
  EXPECT_TRUE(claim.read_due(now + OwnerClaim::kAgain));
  now += OwnerClaim::kAgain;
  EXPECT_EQ(read(0), Step::write);
  EXPECT_FALSE(claim.holder());
}

TEST_F(OwnerClaimTest, WatchesItsWordAndLosesTheBenchWithIt) {
  take();
  EXPECT_TRUE(claim.read_due(now + OwnerClaim::kWatch));
  EXPECT_EQ(read(7), Step::none);
  EXPECT_EQ(read(9), Step::lost);
  EXPECT_FALSE(claim.owns(now));
  EXPECT_EQ(claim.holder(), 9);
}

TEST_F(OwnerClaimTest, IsLostWhenSomebodyElseGivesItFree) {
  take();
  EXPECT_EQ(read(0), Step::lost);
  EXPECT_FALSE(claim.holder());
  EXPECT_EQ(read(0), Step::write);
}

TEST_F(OwnerClaimTest, DoesNotOwnWhatItHasNotSeenForLong) {
  take();
  now -= 10ms;  // when it was asked
  EXPECT_TRUE(claim.owns(now + kStands));
  EXPECT_FALSE(claim.owns(now + kStands + 1ms));
  EXPECT_EQ(read(std::nullopt), Step::none);
  EXPECT_TRUE(claim.is_ours()) << "an answer without the word says nothing";
}

TEST_F(OwnerClaimTest, WhatWasClosedIsClaimedAnew) {
  take();
  claim.closed(now);
  EXPECT_FALSE(claim.is_ours());
  EXPECT_FALSE(claim.read_due(now + 1h));
  claim.opened(now);
  EXPECT_EQ(read(7), Step::taken);
}

// The write may have reached the device when nobody was left to hear that it did.
TEST_F(OwnerClaimTest, AWriteThatWasNotAnsweredStandsFromTheLossOfTheLink) {
  EXPECT_EQ(read(0), Step::write);
  claim.closed(now);
  claim.opened(now);
  EXPECT_EQ(read(7), Step::none);
  EXPECT_FALSE(claim.read_due(now + kStands - 11ms));
  now += kStands;
  EXPECT_EQ(read(7), Step::taken);
}

TEST_F(OwnerClaimTest, AnAnswerFromBeforeTheLinkWasLostSaysNothing) {
  const Steady asked_at = now;
  claim.asked();
  claim.closed(now + 1ms);
  EXPECT_EQ(claim.on_read(7, asked_at, now + 2ms), Step::none);
  claim.opened(now + 3ms);
  EXPECT_EQ(claim.on_read(7, asked_at, now + 4ms), Step::none);
  EXPECT_FALSE(claim.is_ours());
}

TEST_F(OwnerClaimTest, ABenchWithoutAnOwnerWordIsAlwaysOurs) {
  OwnerClaim none(0, kStands);
  EXPECT_FALSE(none.owns(now));
  none.opened(now);
  EXPECT_TRUE(none.owns(now + 24h));
}

// --- races: one register that takes every write, several services, questions, writes and processes
// that are late by up to two seconds

class Race {
 public:
  Race(unsigned seed, std::size_t services) : random_(seed) {
    for (std::size_t i = 0; i < services; ++i)
      claims_.emplace_back(static_cast<std::uint16_t>(i + 1), kStands);
    for (std::size_t i = 0; i < services; ++i)
      at(late(), [this, i] {
        claims_[i].opened(now_);
        live(i);
      });
  }

  // The most that owned at once while it went on, and at its end.
  struct Owners {
    std::size_t most = 0, at_end = 0;
  };
  Owners run(std::chrono::milliseconds for_, std::chrono::milliseconds then_calm_for) {
    Owners owners;
    const Steady end = now_ + for_ + then_calm_for;
    calm_from_ = now_ + for_;
    while (!events_.empty() && events_.begin()->first <= end) {
      const auto next = events_.begin();
      now_ = next->first;
      const auto what = std::move(next->second);
      events_.erase(next);
      what();
      owners.most = std::max(owners.most, count());
    }
    owners.at_end = count();
    return owners;
  }

 private:
  void at(std::chrono::milliseconds wait, std::function<void()> what) {
    events_.emplace(now_ + wait, std::move(what));
  }
  std::chrono::milliseconds late() {
    const bool very = now_ < calm_from_ && random_() % 10 == 0;
    return std::chrono::milliseconds(random_() % (very ? 2000 : 30));
  }
  std::size_t count() const {
    return static_cast<std::size_t>(
        std::ranges::count_if(claims_, [&](const OwnerClaim& each) { return each.owns(now_); }));
  }
  void live(std::size_t i) {
    if (claims_[i].read_due(now_)) ask(i);
    if (now_ < calm_from_ && claims_[i].is_ours() && random_() % 40 == 0) give_back(i);
    at(20ms + (random_() % 50 == 0 ? late() : 0ms), [this, i] { live(i); });
  }
  void ask(std::size_t i) {
    claims_[i].asked();
    at(late(), [this, i, asked_at = now_] {
      at(late(), [this, i, asked_at, word = register_] { answered(i, word, asked_at); });
    });
  }
  void answered(std::size_t i, std::uint16_t word, Steady asked_at) {
    if (claims_[i].on_read(word, asked_at, now_) != Step::write) return;
    at(late(), [this, i] {
      register_ = static_cast<std::uint16_t>(i + 1);
      at(late(), [this, i] { claims_[i].on_written(now_); });
    });
  }
  void give_back(std::size_t i) {
    claims_[i].closed(now_);
    at(late(), [this, i] {
      register_ = 0;
      at(1s, [this, i] { claims_[i].opened(now_); });
    });
  }

  std::mt19937 random_;
  std::vector<OwnerClaim> claims_;
  std::multimap<Steady, std::function<void()>> events_;
  Steady now_{1000s}, calm_from_{Steady::max()};
  std::uint16_t register_ = 0;
};

TEST(OwnerRace, OfTenThousandRacesNoneHasTwoOwnersAndEachEndsWithOne) {
  int owned_in_between = 0;
  for (unsigned seed = 1; seed <= 10'000; ++seed) {
    Race race(seed, 2 + seed % 3);
    const Race::Owners owners = race.run(8s, 6s);
    ASSERT_LE(owners.most, 1u) << "seed " << seed;
    ASSERT_EQ(owners.at_end, 1u) << "seed " << seed;
    owned_in_between += owners.most == 1 ? 1 : 0;
  }
  EXPECT_EQ(owned_in_between, 10'000);
}

}  // namespace
}  // namespace endgate::tests
