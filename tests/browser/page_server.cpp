// Serves the pages from hand-made states, for looking at them and for the browser tests.
//
//   page_server FOLDER [LOOK ...]     an empty folder for a store; the looks are the benches
//
// Prints the port and serves until its standard input ends.

#include <filesystem>
#include <iostream>
#include <string>
#include <vector>

#include "daemon/service/http_server.h"
#include "schema/store.h"
#include "tests/support/fake_application.h"
#include "tests/support/sample_records.h"

namespace {

using namespace endgate;

void keep(schema::StoreWriter& store, schema::Record record) {
  record.start_position = store.append(record.start);
  store.append(std::move(record), std::nullopt);
}

// Six units on both benches, three times each, and one that is measured between hours of running.
void keep_lab(schema::StoreWriter& store) {
  for (int i = 0; i < 36; ++i) {
    const int unit = i % 6, bench = i / 6 % 2;
    schema::Record record =
        test::sample_record("QH2648-20" + std::to_string(10 + unit) + "-L", 1 + i / 6, "pass",
                            0.7 * unit - 0.3 * bench + 0.15 * (i * 7919 % 5 - 2));
    record.start.purpose = "lab";
    record.start.bench = bench == 0 ? "north" : "south";
    keep(store, std::move(record));
  }
  for (int i = 0; i < 9; ++i) {
    schema::Record record =
        test::sample_record("QH2648-2100-E", i + 1, "pass", -0.25 * i + 0.1 * (i * 7919 % 5 - 2));
    record.start.purpose = "lab";
    record.cycle_s = 5.0 * 3600;
    keep(store, std::move(record));
  }
}

void fill_store(const std::filesystem::path& folder) {
  schema::StoreWriter store(folder);
  keep_lab(store);
  keep(store, test::sample_record("QH2648-0117-K", 1, "void"));
  keep(store, test::sample_record("QH2648-0117-K", 2, "pass"));
  store.append(schema::Repair{.serial = "QH2648-0117-K",
                              .finding = "piston ring replaced",
                              .parts = "",
                              .by = "12",
                              .at = {.utc_ms = 1795650000000}});
  keep(store, test::sample_record("QH2648-0117-K", 3, "fail"));
  for (int i = 0; i < 120; ++i) {
    const char* looks[] = {"pass", "pass", "undecided", "pass", "fail", "pass", "pass"};
    schema::Record record = test::sample_record("QH2648-1" + std::to_string(200 + i) + "-A", 1,
                                                looks[i % 7], (i * 7919 % 13 - 6) * 0.2);
    record.start.batch = std::to_string(40 + i / 12) + "-B1";
    record.start.bench = i % 3 == 0 ? "south" : "north";
    keep(store, std::move(record));
  }
}

}  // namespace

int main(int count, char** words) {
  if (count < 2) {
    std::cerr << "usage: page_server FOLDER [LOOK ...]\n";
    return 2;
  }
  fill_store(words[1]);
  test::FakeApplication application(words[1]);
  std::vector<std::string> looks(words + 2, words + count);
  if (looks.empty()) looks.assign(std::begin(test::kLooks), std::end(test::kLooks));
  for (const std::string& look : looks) application.set(test::sample_line(look));
  const daemon::HttpServer server({}, application);
  std::cout << server.port() << std::endl;
  while (std::cin.get() != std::char_traits<char>::eof()) {
  }
  return 0;
}
