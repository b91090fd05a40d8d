// What does a commit cost: against the bare disk, and beside those who read and copy the store?
// Real syncs.

#pragma once

#include <filesystem>

namespace endgate::benchmark {

// A record with a trace of 150 kB against the same bytes appended to a bare file and synced once.
void compare_with_bare_file(const std::filesystem::path& store, int rounds);

// Alone, and beside trend scans that never rest, the derived file that catches up every 5 s, and a
// backup that begins anew when it is done.  As in the daemon, all writing is asked of one thread.
void compare_beside_readers(const std::filesystem::path& store, int commits);

}  // namespace endgate::benchmark
