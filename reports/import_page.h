// Results and lots from elsewhere: a form for each, and which files of results came in before.
//
// The forms send the text of the chosen file (daemon/web/forms.js); faults of a bad file come back
// with their lines and are listed under the form.

#pragma once

#include <string>
#include <vector>

namespace endgate::reports {

struct ImportedFile {
  std::string source{}, when{}, by{}, why{};
};

struct ImportPage {
  std::vector<ImportedFile> files{};  // newest first
};

[[nodiscard]] std::string page_of(const ImportPage& page);

}  // namespace endgate::reports
