// Answers about all units of a model.

#include <gmock/gmock.h>

#include "schema/store.h"
#include "tests/service/served.h"
#include "tests/support/sample_records.h"
#include "tests/support/temporary_folder.h"

namespace endgate::test {
namespace {

using testing::HasSubstr;

class Population : public testing::Test {
 protected:
  void SetUp() override {
    schema::StoreWriter store(folder_.path());
    for (int i = 0; i < 44; ++i) {
      const char* looks[] = {"pass", "pass", "undecided", "pass", "fail", "pass", "void"};
      schema::Record record =
          sample_record("U" + std::to_string(i), 1, looks[i % 7], (i * 7919 % 13 - 6) * 0.2);
      record.start.batch = std::to_string(40 + i / 4) + "-B<1>";
      record.start.bench = i % 2 == 0 ? "south" : "north";
      record.start_position = store.append(record.start);
      store.append(std::move(record), std::nullopt);
    }
    served_ = std::make_unique<Served>(folder_.path().string());
  }
  TemporaryFolder folder_;
  std::unique_ptr<Served> served_;
};

TEST_F(Population, AnswersAreNumbersInSiWithTheirIntervals) {
  const std::string told =
      body_of(served_->get("/api/v1/trend/batches?model=P1-60-12&metric=fad_400"));
  EXPECT_THAT(told, HasSubstr("\"side\":{\"said\":"));
  EXPECT_THAT(told, HasSubstr("\"running_mean_si\":0.000"));
  EXPECT_THAT(told, HasSubstr("\"bench_offsets\":["));
  EXPECT_THAT(body_of(served_->get("/api/v1/capability?model=P1-60-12&metric=fad_400")),
              HasSubstr("\"cpk\":{\"value\":"));
  EXPECT_THAT(body_of(served_->get("/api/v1/yield?model=P1-60-12")),
              HasSubstr("\"first_pass\":{\"count\":"));
  EXPECT_THAT(
      body_of(served_->get("/api/v1/what-if?model=P1-60-12&metric=fad_400&lower_si=0.0001")),
      HasSubstr("\"changed\":{\"count\":"));
}

TEST_F(Population, WrongQuestionsAreRefused) {
  EXPECT_EQ(status_of(served_->get("/api/v1/trend/batches?model=P1-60-12&metric=no")), 404);
  for (const char* without_model : {"trend/batches", "capability", "yield", "returns", "what-if"})
    EXPECT_THAT(served_->get("/api/v1/" + std::string(without_model)), HasSubstr("U-218"));
  EXPECT_EQ(status_of(served_->get("/api/v1/what-if?model=P1-60-12&metric=fad_400")), 400);
  EXPECT_EQ(status_of(served_->get(
                "/api/v1/what-if?model=P1-60-12&metric=fad_400&lower_si=2&upper_si=1")),
            400);
  for (const char* none : {"1x", "nan", "inf"})
    EXPECT_EQ(status_of(served_->get("/api/v1/what-if?model=a&metric=fad_400&lower_si=" +
                                     std::string(none))),
              400)
        << none;
  EXPECT_EQ(status_of(served_->get("/api/v1/what-if?model=none&metric=fad_400&lower_si=1")), 404);
}

TEST_F(Population, EveryQuestionTakesTheSameFiltersAndChecksThem) {
  for (const char* question :
       {"trend", "trend/batches", "capability", "yield", "returns", "what-if"}) {
    const std::string bound = question == std::string("what-if") ? "&lower_si=0.0001" : "";
    const std::string about =
        "/api/v1/" + std::string(question) + "?model=P1-60-12&metric=fad_400" + bound;
    EXPECT_EQ(status_of(served_->get(about)), 200) << question;
    EXPECT_EQ(status_of(served_->get(about + "&bench=west")), 404) << question;
    EXPECT_EQ(status_of(served_->get(about + "&purpose=fun")), 404) << question;
    EXPECT_EQ(status_of(served_->get(about + "&since=soon")), 400) << question;
    EXPECT_EQ(status_of(served_->get(about + "&until=soon")), 400) << question;
    EXPECT_EQ(status_of(served_->get(about + "&since=2026-02-01&until=2026-01-01")), 400)
        << question;
    EXPECT_EQ(status_of(served_->get("/api/v1/" + std::string(question) +
                                     "?model=P9&metric=fad_400" + bound)),
              404)
        << question;
  }
  const std::string all = body_of(served_->get("/api/v1/trend?model=P1-60-12&metric=fad_400"));
  EXPECT_THAT(all, Not(HasSubstr("\"valued\":0")));
  EXPECT_THAT(body_of(served_->get("/api/v1/trend?model=P1-60-12&metric=fad_400&since=2127-01-01")),
              HasSubstr("\"valued\":0"));
  EXPECT_THAT(body_of(served_->get("/api/v1/trend?model=P1-60-12&metric=fad_400&until=2001-01-01")),
              HasSubstr("\"valued\":0"));
}

}  // namespace
}  // namespace endgate::test
