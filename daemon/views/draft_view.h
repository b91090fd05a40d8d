// A draft limit against kept values: its form, what it would change, and the picture.

#pragma once

#include "daemon/views/population_view.h"

namespace endgate::daemon {

void add_draft(reports::PopulationPage& page, const PopulationTold& told);

}  // namespace endgate::daemon
