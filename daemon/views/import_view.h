// Which files of results came in before, for the page that takes the next one?

#pragma once

#include <vector>

#include "reports/import_page.h"
#include "schema/store.h"

namespace endgate::daemon {

// `files`: the first test of each, oldest first (schema/store.h, imported_files).
[[nodiscard]] reports::ImportPage import_page_of(
    const std::vector<schema::Kept<schema::ImportedTest>>& files);

}  // namespace endgate::daemon
