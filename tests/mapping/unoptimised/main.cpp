// replay_unoptimised FOLDER: replays a copied record with an analysis that was compiled without
// optimisation.  Prints each difference beyond the promise; exit status 0 when there is none.

#include <cstdio>
#include <exception>

#include "daemon/mapping/replay.h"
#include "schema/copied_record.h"

int main(int argc, char** argv) {
  if (argc != 2) return 2;
  try {
    const auto copied = endgate::schema::read_copied_record(argv[1]);
    if (!copied.trace) return 2;
    const auto result = endgate::daemon::replay(copied.stored.record, *copied.trace);
    for (const std::string& line : result.differences) std::printf("%s\n", line.c_str());
    std::printf("%s\n", result.bit_for_bit ? "bit for bit" : "not bit for bit");
    return result.differences.empty() ? 0 : 1;
  } catch (const std::exception& fault) {
    std::printf("%s\n", fault.what());
    return 70;
  }
}
