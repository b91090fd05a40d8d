// How do samples leave the store when a policy says so, with numbers and seal kept?
//
// First the removal is stated: a TraceRemoved fact per record, by whom and why.  Then the samples
// go.  A crash between the two leaves samples that are stated as removed; the next call takes them.
// Never the other way round: samples that are missing without a fact are damage, and verify says
// so.
//
//   P-1  only samples of records whose removal is stated leave, with every piece of a long trace
//   P-2  the newest trace file is left alone: tests are written to it
//   P-3  each file changes in one transaction, then gives its space back to the disk (needs as much
//        free space as is left in the file, for a while)
//
// This is the one thing that opens an older trace file for writing.  Readers and backups may run; a
// backup that copied the facts before and the samples after does not verify, and says so.

#pragma once

#include <cstdint>
#include <filesystem>
#include <functional>
#include <string>

namespace endgate::schema {

struct PrunedTraces {
  std::int64_t traces = 0;   // taken away now, pieces of long ones counted each
  std::uintmax_t bytes = 0;  // given back to the disk
  std::int64_t waiting = 0;  // stated, but in the newest file: the next call after a new one began
};

// StoreFault when a file cannot be read or written; what was taken by then is gone, and stated.
PrunedTraces take_stated_traces(const std::filesystem::path& folder,
                                const std::function<void(const std::string& file)>& progress = {});

// The file that tests are written to; empty when there is none.
[[nodiscard]] std::string newest_trace_file(const std::filesystem::path& folder);

}  // namespace endgate::schema
