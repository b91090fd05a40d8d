// What devices said, kept for each parser of the links, and hundreds of thousands of damaged copies.

#include <gtest/gtest.h>

#include "tests/links/parser_input.h"
#include "tests/support/kept_corpus.h"

namespace endgate::tests {
namespace {

class ParserCorpus : public ::testing::TestWithParam<NamedParser> {};

TEST_P(ParserCorpus, IsReadWithoutHarm) {
  const auto kept = kept_corpus(GetParam().corpus);
  ASSERT_FALSE(kept.empty()) << "the corpus is not where the test looks";
  for (const CorpusBytes& bytes : kept) GetParam().read(bytes);
}

TEST_P(ParserCorpus, IsReadWithoutHarmInDamagedCopies) {
  const auto kept = kept_corpus(GetParam().corpus);
  const int copies = 30'000 / static_cast<int>(kept.size() + 1);
  read_damaged(kept, copies, GetParam().read);
}

INSTANTIATE_TEST_SUITE_P(Links, ParserCorpus, ::testing::ValuesIn(kParsersOfLinks),
                         [](const auto& info) { return std::string(info.param.corpus); });

}  // namespace
}  // namespace endgate::tests
