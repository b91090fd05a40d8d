// Taking back what a person entered by mistake.
//
// Nothing is erased: the entry stays in the history, struck through, with who took it back and why,
// and counts no more from then on.  A test cannot be withdrawn, whoever asks: what was measured was
// measured.  An accepted text is replaced by accepting another, an alarm by its next step.  What
// took two people to say takes two to take back, and so does a scrap, as its calling back would.
//
// Fields: position, why, by; second_by where two are needed.  Refusals keep nothing; code U-245.

#pragma once

#include "daemon/line/application.h"
#include "daemon/line/entry.h"
#include "schema/store.h"

namespace endgate::daemon {

// Runs where the writer is.  Throws StoreFault.
[[nodiscard]] Application::Entered enter_withdrawal(schema::StoreWriter& writer,
                                                    const schema::StoreReader& reader,
                                                    const EntryFields& fields);

}  // namespace endgate::daemon
