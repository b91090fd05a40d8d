// How does a store get to another folder or disk for good?
//
// Unlike a backup it stays the same store: its id and its signing key come along.
//
//   MV-1  the store is owned from first to last: a running service is left alone and the move
//         refused (StoreFault::busy names its pid); none starts in between
//   MV-2  the new folder counts only after it was opened, every fact and trace in it was verified,
//         and its head is that of the old one; until then it is `<target>.unfinished`, which a
//         failure takes away
//   MV-3  nothing of the old folder is deleted or changed; once the new one counts, a mark keeps
//         everybody from writing to the old one (schema/moved_mark.h)
//   MV-4  nothing is written into a folder that has files in it
//
// `trend.db` stays behind: it is made anew from what was moved.

#pragma once

#include <filesystem>

#include "schema/backup.h"

namespace endgate::schema {

// The result of the verification.  StoreFault: refused also when the new folder lies inside the old
// one, the store belongs to another user, or it was moved before; full when the new disk has less
// room than the store takes.
VerifyResult move_store(const std::filesystem::path& store, const std::filesystem::path& target,
                        const BackupProgress& progress = {});

}  // namespace endgate::schema
