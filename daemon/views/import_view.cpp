#include "daemon/views/import_view.h"

#include "daemon/views/shown.h"

namespace endgate::daemon {

reports::ImportPage import_page_of(const std::vector<schema::Kept<schema::ImportedTest>>& files) {
  reports::ImportPage page;
  for (auto file = files.rbegin(); file != files.rend(); ++file)
    page.files.push_back({.source = file->fact.source,
                          .when = date_and_minute(file->fact.at.utc_ms),
                          .by = file->fact.by,
                          .why = file->fact.why});
  return page;
}

}  // namespace endgate::daemon
