#include "analysis/flow_state.h"

#include <gtest/gtest.h>

#include <concepts>
#include <type_traits>

#include "tests/analysis/measure_published.h"

namespace endgate::analysis {
namespace {

template <class A, class B>
concept Mix = requires(A a, B b) {
  a + b;
}
|| requires(A a, B b) { a - b; }
|| requires(A a, B b) { a / b; }
|| requires(A a, B b) { a < b; }
|| std::convertible_to<A, B> || std::is_constructible_v<A, B> || std::is_assignable_v<A&, B>;

// One of them and any other, or a bare number, is no flow.
template <class One, class... Others>
constexpr bool kAlone = (!Mix<One, Others> && ...) && (!Mix<Others, One> && ...) &&
                        !std::convertible_to<double, One> && !std::convertible_to<One, double>;

static_assert(kAlone<MoistMass, DryMass, StandardFlow, FreeAir>);
static_assert(kAlone<DryMass, MoistMass, StandardFlow, FreeAir>);
static_assert(kAlone<StandardFlow, MoistMass, DryMass, FreeAir>);
static_assert(kAlone<FreeAir, MoistMass, DryMass, StandardFlow>);
static_assert(Mix<FreeAir, FreeAir>);
static_assert(sizeof(FreeAir) == sizeof(double));

// Each conversion asks for the state it needs, and for the right kind of flow.
template <class F>
concept CountsAsFreeAir = requires(F flow, AirState inlet) {
  free_air(flow, inlet);
};
static_assert(CountsAsFreeAir<DryMass>);
static_assert(!CountsAsFreeAir<MoistMass> && !CountsAsFreeAir<StandardFlow> &&
              !CountsAsFreeAir<double>);
template <class F>
concept NeedsNoState = requires(F flow) {
  free_air(flow);
}
|| requires(F flow) { mass_read_as(flow); }
|| requires(F flow) { read_of(flow); };
static_assert(!NeedsNoState<DryMass> && !NeedsNoState<MoistMass> && !NeedsNoState<StandardFlow>);

constexpr DryReference kNormal{.pressure_abs_pa = 101325, .temperature_k = 273.15};
constexpr DryReference kLeaks{.pressure_abs_pa = 100000, .temperature_k = 293.15};

TEST(FlowState, LitresOfTwoStandardsAreTheSameMass) {
  const StandardFlow hundred(100.0 / 60000);
  const StandardFlow normal = in_litres_of(hundred, kLeaks, kNormal);
  EXPECT_NEAR(60000 * normal.si(), published::number("litre_of_two_standards.value"), 1e-6);
  EXPECT_NEAR(mass_read_as(normal, kNormal) / mass_read_as(hundred, kLeaks), 1, 1e-15);
}

TEST(FlowState, AMeterGivesBackWhatItRead) {
  const StandardFlow read(1e-3);
  EXPECT_DOUBLE_EQ(read_of(mass_read_as(read, kNormal), kNormal).si(), 1e-3);
}

TEST(FlowState, DryAirIsFreeAirOfItsOwnState) {
  const StandardFlow litres(1e-3);
  const DryMass mass = without_vapour(mass_read_as(litres, kLeaks), 0);
  EXPECT_NEAR(free_air(mass, {100000, 293.15, 0}).si(), 1e-3, 1e-15);
  EXPECT_GT(free_air(mass, {100000, 293.15, 0.7}), free_air(mass, {100000, 293.15, 0}));
}

}  // namespace
}  // namespace endgate::analysis
