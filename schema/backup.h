// How does a store get to another place while tests run, and back?
//
//   back_up   copies truth first, in steps of a bounded number of pages, then every trace file; the
//             copy is a store folder of its own without the signing key
//   restore   makes a store folder out of such a copy: a new store id, linked to the old one by a
//             fact, and a new signing key
//
// A copy of truth is one instant of it: SQLite's own copying starts again when the writer commits
// between two steps, so the last steps are one.  Traces are committed before the records that name
// them, but copied after truth: the copy never lacks one.
//
//   B-1  a target counts only after it was opened and every fact and trace in it was verified;
//        until then it is a folder `<target>.unfinished`, which a failure takes away
//   B-2  nothing is ever written into a folder that has files in it
//   B-3  the source is only read
//
// A store of an older version is copied as it is; restore brings it up to date.
//
// Threading: any thread; its own read-only connections.  Every failure is a StoreFault.

#pragma once

#include <filesystem>
#include <string>

#include "schema/unfinished_copy.h"
#include "schema/verify.h"

namespace endgate::schema {

// The result of the verification of the finished copy.
VerifyResult back_up(const std::filesystem::path& store, const std::filesystem::path& target,
                     const BackupProgress& progress = {});

// The store id of the new store, 32 hexadecimal digits.
std::string restore(const std::filesystem::path& backup, const std::filesystem::path& store,
                    const BackupProgress& progress = {});

}  // namespace endgate::schema
