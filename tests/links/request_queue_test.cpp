#include "daemon/links/request_queue.h"

#include <gtest/gtest.h>

namespace endgate::daemon {
namespace {

RegisterWrite bit_of_register(std::uint16_t address, int bit, bool on) {
  const auto mask = static_cast<std::uint16_t>(1 << bit);
  return {address, {static_cast<std::uint16_t>(~mask), on ? mask : std::uint16_t{0}}, 22};
}

TEST(RequestQueue, DropsTheSameBitOfARegisterAndNoOtherOne) {
  RequestQueue queue;
  queue.push(PendingWrite{bit_of_register(7, 3, true), {}}, Link::Urgency::in_turn);
  queue.push(PendingWrite{bit_of_register(7, 4, true), {}}, Link::Urgency::in_turn);
  EXPECT_EQ(queue.take_overtaken(bit_of_register(7, 3, false)).size(), 1u);
  const auto left = queue.take_write();
  ASSERT_TRUE(left);
  EXPECT_EQ(left->write.values, bit_of_register(7, 4, true).values);
  EXPECT_FALSE(queue.take_write());
}

TEST(RequestQueue, DropsNothingOfAnotherUnitOfTheLine) {
  RequestQueue queue;
  const RegisterWrite on_of_two{.address = 5, .values = {1}, .unit = 2};
  const RegisterWrite off_of_three{.address = 5, .values = {0}, .unit = 3};
  queue.push(PendingWrite{on_of_two, {}}, Link::Urgency::in_turn);
  EXPECT_TRUE(queue.take_overtaken(off_of_three).empty());
  EXPECT_TRUE(queue.take_write());
}

TEST(RequestQueue, LeavesUrgentWritesInTheirOrder) {
  RequestQueue queue;
  queue.push(PendingWrite{{.address = 5, .values = {0}}, {}}, Link::Urgency::at_once);
  EXPECT_TRUE(queue.take_overtaken({.address = 5, .values = {0}}).empty());
  EXPECT_TRUE(queue.take_write());
}

}  // namespace
}  // namespace endgate::daemon
