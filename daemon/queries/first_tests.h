// Which test of a unit is its first?
//
// The first that is not void, by position.  Attempts count void tests and trials too, so attempt 1
// may be neither valid nor of production.  Units whose first attempt was broken off are odd ones
// more often than others: leaving them out would flatter, and every question about first tests has
// to leave out the same.

#pragma once

#include <string>

#include "daemon/queries/trend_columns.h"

namespace endgate::daemon {

// Production and its retests: a unit that was broken off at first is measured in a retest.
[[nodiscard]] bool is_of_production(const schema::TrendTest& test);

// The first tests that match, in order of position, each with what it says of `metric` (which may
// be empty).  Asked for production, a first test may be a retest; any other purpose is looked at
// alone, and without one every test may be a first.  All tests of the model are read, because those
// that match do not tell whether there was an earlier one.
void for_each_first_test(const schema::StoreReader& store, const TrendFilter& filter,
                         const std::string& metric, const schema::VisitTest& visit);

}  // namespace endgate::daemon
