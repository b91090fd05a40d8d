// What people's programs and files said, kept for each parser, and damaged copies.

#include "tests/support/kept_corpus.h"

#include <gtest/gtest.h>

#include "tests/fuzz/definition_input.h"
#include "tests/fuzz/request_input.h"
#include "tests/fuzz/table_input.h"

namespace endgate::tests {
namespace {

std::vector<CorpusBytes> with_scenario(std::vector<CorpusBytes> kept, const char* folder) {
  for (CorpusBytes& text :
       files_of(std::filesystem::path(ENDGATE_SOURCE_DIR) / "fixtures" / folder))
    kept.push_back(std::move(text));
  return kept;
}

template <class Read>
void read_kept(const std::vector<CorpusBytes>& kept, int copies, Read read) {
  ASSERT_FALSE(kept.empty()) << "the corpus is not where the test looks";
  for (const CorpusBytes& bytes : kept) read(bytes);
  read_damaged(kept, copies, read);
}

TEST(KeptCorpus, OfRequestHeadsIsReadWithoutHarm) {
  read_kept(kept_corpus("http_head"), 500, read_as_request_head);
}
TEST(KeptCorpus, OfTablesIsReadWithoutHarm) { read_kept(kept_corpus("table"), 200, read_as_table); }
TEST(KeptCorpus, OfBenchFilesIsReadWithoutHarm) {
  read_kept(with_scenario(kept_corpus("bench_toml"), "examples/benches"), 50, read_as_bench);
}
TEST(KeptCorpus, OfModelFilesIsReadWithoutHarm) {
  read_kept(with_scenario(kept_corpus("model_toml"), "scenario/models"), 20, read_as_model);
}

}  // namespace
}  // namespace endgate::tests
