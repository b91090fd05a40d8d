#include "daemon/definitions/serial.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/definitions/scenario_text.h"

namespace endgate::daemon {
namespace {

using testing::HasSubstr;

std::vector<ModelDefinition> models() {
  std::vector<ModelDefinition> all;
  for (const std::string id : {"P1-60-12", "P1-20-12", "P1-60-24", "P2-120-24"})
    all.push_back(
        std::get<ModelDefinition>(load_model(scenario_text("models/" + id + ".toml"), id)));
  return all;
}

std::string serial(const std::string& head) { return head + "-" + *check_character(head); }

SerialRefusal refusal_of(const std::string& scanned) {
  const auto match = match_serial(scanned, models());
  EXPECT_TRUE(std::holds_alternative<SerialRefusal>(match)) << scanned;
  const auto* refusal = std::get_if<SerialRefusal>(&match);
  return refusal == nullptr ? SerialRefusal{} : *refusal;
}

TEST(CheckCharacter, AgreesWithAPublishedIdentifier) {
  // From memory: A1-2425GABC1234002-M is the example in the public description of the Global
  // Release Identifier, whose check character is ISO/IEC 7064 MOD 37,36.
  EXPECT_EQ(check_character("A1-2425GABC1234002"), 'M');
}

TEST(CheckCharacter, SkipsDashesAndRefusesOtherCharacters) {
  EXPECT_EQ(check_character("QH2648-0117"), check_character("QH26480117"));
  EXPECT_FALSE(check_character("QH2648_0117"));
  EXPECT_FALSE(check_character("qh26480117"));
}

TEST(CheckCharacter, FindsEveryMisreadCharacterAndEveryExchangeOfNeighbours) {
  const std::string body = "QH26480117";
  const char right = *check_character(body);
  for (std::size_t i = 0; i < body.size(); ++i)
    for (const char other : std::string("0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ")) {
      std::string misread = body;
      misread[i] = other;
      EXPECT_EQ(check_character(misread) == right, misread == body) << misread;
    }
  for (std::size_t i = 0; i + 1 < body.size(); ++i) {
    std::string exchanged = body;
    std::swap(exchanged[i], exchanged[i + 1]);
    EXPECT_EQ(check_character(exchanged) == right, exchanged == body) << exchanged;
  }
}

TEST(MatchSerial, TheFirstDigitOfTheRunningNumberTellsTheModel) {
  const std::vector<std::pair<std::string, std::string>> cases{{"QH2648-0117", "P1-60-12"},
                                                               {"QH2648-1117", "P1-20-12"},
                                                               {"QH2648-2117", "P1-60-24"},
                                                               {"QH2648-3117", "P2-120-24"}};
  for (const auto& [head, model] : cases) {
    const auto match = match_serial(serial(head), models());
    ASSERT_TRUE(std::holds_alternative<SerialMatch>(match)) << head;
    EXPECT_EQ(std::get<SerialMatch>(match).model, model);
  }
}

TEST(MatchSerial, BlanksAroundAndSmallLettersAreForgiven) {
  std::string scanned = serial("QH2648-0117");
  for (char& c : scanned) c = static_cast<char>(std::tolower(c));
  const auto match = match_serial("  " + scanned + "\r\n", models());
  ASSERT_TRUE(std::holds_alternative<SerialMatch>(match));
  EXPECT_EQ(std::get<SerialMatch>(match).serial, serial("QH2648-0117"));
}

TEST(MatchSerial, AWrongCheckCharacterSaysWhatWasReadAndWhatTheOthersGive) {
  std::string wrong = serial("QH2648-0117");
  const char right = wrong.back();
  wrong.back() = right == 'A' ? 'B' : 'A';
  const SerialRefusal refusal = refusal_of(wrong);
  EXPECT_EQ(refusal.code, "U-102");
  EXPECT_THAT(refusal.sentence, HasSubstr("Read \"" + wrong + "\""));
  EXPECT_THAT(refusal.sentence, HasSubstr(std::string("the other characters give ") + right));
}

TEST(MatchSerial, WhatFitsNoModelNamesTheKnownOnes) {
  const SerialRefusal refusal = refusal_of("QH2648-9117-A");
  EXPECT_EQ(refusal.code, "U-101");
  EXPECT_THAT(refusal.sentence, HasSubstr("P1-60-12, P1-20-12, P1-60-24, P2-120-24"));
}

TEST(MatchSerial, HostileScansAreRefusedAndShownHarmless) {
  EXPECT_EQ(refusal_of("").code, "U-101");
  EXPECT_EQ(refusal_of(" \t ").code, "U-101");
  const SerialRefusal endless = refusal_of(std::string(100000, 'Q'));
  EXPECT_LT(endless.sentence.size(), 300U);
  EXPECT_THAT(refusal_of("QH2648-0117\x1b[2J").sentence, HasSubstr("QH2648-0117?[2J"));
}

TEST(MatchSerial, TwoModelsWhosePatternsOverlapAreNamed) {
  std::vector<ModelDefinition> overlapping = models();
  overlapping[1].serial_pattern = overlapping[0].serial_pattern;
  const auto match = match_serial(serial("QH2648-0117"), overlapping);
  ASSERT_TRUE(std::holds_alternative<SerialRefusal>(match));
  EXPECT_THAT(std::get<SerialRefusal>(match).sentence, HasSubstr("P1-60-12 and P1-20-12"));
}

}  // namespace
}  // namespace endgate::daemon
