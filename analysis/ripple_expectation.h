// What does a model's motor let us expect in its current?

#pragma once

namespace endgate::analysis {

struct RippleExpectation {
  int commutations_per_rev = 0;  // M, learned once per model beside a tacho; 0: not known
  double slowest_rev_s = 0;
  double fastest_rev_s = 0;

  [[nodiscard]] bool known() const { return commutations_per_rev > 0; }
};

}  // namespace endgate::analysis
