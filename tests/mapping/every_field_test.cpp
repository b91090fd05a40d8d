// A field that is not in the sealed list would silently come back as its default on replay.

#include <gtest/gtest.h>

#include "daemon/mapping/context_fields.h"

namespace endgate {
namespace {

struct Any {
  template <class T>
  operator T() const;  // NOLINT: converts to whatever the field is
};

// How many initialisers does the aggregate take?  That is the number of its fields.
template <class T, class... Fields>
consteval std::size_t field_count() {
  if constexpr (requires { T{Fields{}..., Any{}}; })
    return field_count<T, Fields..., Any>();
  else
    return sizeof...(Fields);
}

template <class T>
constexpr std::size_t kListed = std::tuple_size_v<std::decay_t<decltype(schema::kFields<T>)>>;

template <class T>
class EveryField : public ::testing::Test {};
using Sealed =
    ::testing::Types<analysis::ChannelCalibration, analysis::ChannelFacts, analysis::Receiver,
                     analysis::BenchFacts, analysis::NominalPhysics, analysis::ReferenceConditions,
                     analysis::ThermalCorrection, analysis::SteadyRule, analysis::ServiceConditions,
                     analysis::ModelFacts, analysis::WaveformFacts, analysis::RippleExpectation,
                     analysis::Limit, analysis::BandPoint, analysis::LimitClass, analysis::LimitSet,
                     analysis::Context, analysis::StepMark, analysis::Trip>;
TYPED_TEST_SUITE(EveryField, Sealed);

TYPED_TEST(EveryField, OfAPinnedFactIsSealed) {
  EXPECT_EQ(field_count<TypeParam>(), kListed<TypeParam>);
}

}  // namespace
}  // namespace endgate
