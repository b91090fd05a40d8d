// How far does a result move when one input moves by its standard uncertainty?
//
//   part_i = (f(x_i + u_i) - f(x_i - u_i)) / 2          JCGM 100, 5.1.3 note 2                 (1)
//
//   Every u of an evaluation is made of (1), over inputs that are independent of each other
//   (analysis/uncertainty_by_cause.h).
//
// What is even in an input is lost: a product of two inputs that are both near zero adds nothing,
// as in JCGM 100 H.1.7 (32 instead of 34 nm).
//
// Where one side gives no answer (NaN) the other side alone counts; where neither does, the part
// is 0.

#pragma once

namespace endgate::analysis {

[[nodiscard]] double half_difference(double low, double here, double high);

}  // namespace endgate::analysis
