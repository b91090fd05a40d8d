// Published data for the tests of fitting and grading.  Read from fixtures/published.

#pragma once

#include <string>
#include <vector>

namespace judge {

// Rows of a CSV file whose first line is a heading.
std::vector<std::vector<double>> published_rows(const std::string& path);

// One value of a TOML file; `key` may be dotted.  Throws when it is not there.
double published_number(const std::string& path, const std::string& key);
std::vector<double> published_numbers(const std::string& path, const std::string& key);
std::string published_text(const std::string& path, const std::string& key);

// Digits in common with a certified value: -log10 of the relative error, 0 ... 16; of the absolute
// error where the certified value is 0.
double digits_in_common(double value, double certified);

}  // namespace judge
