// schema/README.md lists the fields of a context and of the marks, and every reason code.

#include <gtest/gtest.h>

#include "analysis/reason_codes.h"
#include "daemon/mapping/context_fields.h"
#include "tests/support/field_list.h"

namespace endgate::test {

#define NAMED(Struct) \
  template <>         \
  inline constexpr const char* kStructName<analysis::Struct> = #Struct

NAMED(ChannelCalibration);
NAMED(ChannelFacts);
NAMED(Receiver);
NAMED(WaveformFacts);
NAMED(RippleExpectation);
NAMED(BenchFacts);
NAMED(NominalPhysics);
NAMED(ReferenceConditions);
NAMED(ThermalCorrection);
NAMED(SteadyRule);
NAMED(ServiceConditions);
NAMED(ModelFacts);
NAMED(BandPoint);
NAMED(Limit);
NAMED(LimitClass);
NAMED(LimitSet);
NAMED(CauseReading);
NAMED(CauseLevel);
NAMED(Cause);
NAMED(CauseTable);
NAMED(Context);
NAMED(StepMark);
NAMED(Trip);
NAMED(RawTrace);
#undef NAMED

namespace {

template <class Struct>
class FieldsOf : public ::testing::Test {};
using Sealed =
    ::testing::Types<analysis::ChannelCalibration, analysis::ChannelFacts, analysis::Receiver,
                     analysis::WaveformFacts, analysis::RippleExpectation, analysis::BenchFacts,
                     analysis::NominalPhysics, analysis::ReferenceConditions,
                     analysis::ThermalCorrection, analysis::SteadyRule, analysis::ServiceConditions,
                     analysis::ModelFacts, analysis::BandPoint, analysis::Limit,
                     analysis::LimitClass, analysis::LimitSet, analysis::CauseReading,
                     analysis::CauseLevel, analysis::Cause, analysis::CauseTable, analysis::Context,
                     analysis::StepMark, analysis::Trip, analysis::RawTrace>;
TYPED_TEST_SUITE(FieldsOf, Sealed);

TYPED_TEST(FieldsOf, APinnedFactStandInTheDocumentInTheirOrder) {
  const std::string expected = field_list<TypeParam>();
  EXPECT_NE(words_of(schema_document()).find(expected + " "), std::string::npos) << expected;
}

TEST(Document, ListsEveryReasonCodeWithItsMeaning) {
  const std::string document = schema_document();
  for (const analysis::ReasonCode& reason : analysis::kReasonCodes) {
    const std::string line = "| `" + std::string(reason.code) + "` | " +
                             analysis::word_of(reason.supports) + " | " +
                             std::string(reason.meaning) + " |";
    EXPECT_NE(document.find(line), std::string::npos) << line;
  }
}

}  // namespace
}  // namespace endgate::test
