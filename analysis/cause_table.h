// What does each fault of a model do to its readings?  The learned fact behind the likely cause.
//
// MODEL of one reading of a unit
//
//   y = (x - healthy) / healthy     or, where `logarithmic`, asinh(x / healthy) - asinh(1): a
//                                   logarithm that allows a leak measured as zero
//   y = shift_k(s) + scatter               fault k of severity s; no fault: shift 0 (1)
//
//   shift_k(s) is linear between the learned severities and 0 at s = 0; scatter is normal with the
//   learned covariance of healthy units (parts, and what one bench repeats).  A fault that ends a
//   test before its readings shows by its `sign`: the over-limit that tripped.
//
// WHERE IT COMES FROM
//
//   In a plant: from units that were taken apart, and from designed experiments (a unit measured,
//   one part exchanged, measured again).  The demo's table is made the second way on simulated
//   units (endgate_learn_causes); it knows what the simulation knows and nothing of real wear.
//   `prior` is the share of the cause among units that fail; the fleet's repairs tell it.  It
//   colours the ranking and never touches a verdict.

#pragma once

#include <string>
#include <vector>

namespace endgate::analysis {

struct CauseReading {
  std::string id;      // of a metric, or "current_0_600": analysis/cause_readings.h
  double healthy = 1;  // SI, not 0
  bool logarithmic = false;
};

// What a fault of this severity does.
struct CauseLevel {
  double severity = 1;        // above 0, rising from level to level
  std::string sign;           // trip that ends the test; empty: the test runs to its end
  std::vector<double> shift;  // one per reading of the table
};

struct Cause {
  std::string id;     // "ring_wear"
  std::string name;   // "piston rings", inside a sentence
  std::string check;  // what tells it from a look-alike: "run it without its inlet filter"
  double prior = 1;   // relative to the other causes
  bool of_bench = false;
  std::vector<CauseLevel> levels;
};

struct CauseTable {
  std::string id;  // "causes P1-60-12@1"; empty: none accepted, no cause is stated
  std::vector<CauseReading> readings;
  std::vector<double> covariance;  // lower triangle, row by row
  std::vector<Cause> causes;
};

}  // namespace endgate::analysis
