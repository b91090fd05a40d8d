#include "reports/signs.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "reports/duration.h"
#include "reports/shapes.h"

namespace endgate::reports {
namespace {

Node grid(const std::string& name, const std::string& said) {
  return drawing(96, 96, "sign sign-" + name, said);
}

Node bar(double y, double height = 11) { return rect(6, y, 84, height, "solid"); }

Node pass_sign(const std::string& said) {
  return grid("pass", said)
      .add(circle({48, 37}, 33, "solid"))
      .add(path("M31 38L43 50L66 25", "cut"))
      .add(bar(79));
}

Node fail_sign(const std::string& said) {
  return grid("fail", said)
      .add(bar(6))
      .add(rect(17, 29, 62, 62, "solid"))
      .add(path("M34 46L62 74M62 46L34 74", "cut"));
}

Node undecided_sign(const std::string& said) {
  return grid("undecided", said)
      .add(path("M48 10L82 44L14 44Z", "solid"))
      .add(path("M19.5 53.5L48 82L76.5 53.5", "below"))
      .add(path("M19.5 53.5L48 82L76.5 53.5", "stroke8"))
      .add(rect(0, 43, 96, 10, "solid"));
}

// One side of the dashed square: corner, gap, dash, gap, corner.
Node void_sign(const std::string& said) {
  return grid("void", said)
      .add(path("M17.5 33V17.5H33M42 17.5H54M63 17.5H78.5V33", "dash9"))
      .add(path("M17.5 63V78.5H33M42 78.5H54M63 78.5H78.5V63", "dash9"))
      .add(path("M17.5 42V54M78.5 42V54", "dash9"))
      .add(rect(0, 42.5, 9, 11, "solid"))
      .add(rect(87, 42.5, 9, 11, "solid"));
}

// Strips of a bar code between two heights.
void add_strips(Node& sign, double top, double bottom) {
  static constexpr double kStrips[][2] = {{14, 7}, {25, 4}, {33, 9}, {46, 4},
                                          {54, 4}, {62, 9}, {75, 7}};
  for (const auto& strip : kStrips) sign.add(rect(strip[0], top, strip[1], bottom - top, "solid"));
}

Node free_sign(const std::string& said) {
  Node sign = grid("free", said);
  add_strips(sign, 14, 64);
  return std::move(sign).add(bar(79));
}

Node refused_sign(const std::string& said) {
  Node sign = grid("refused", said);
  add_strips(sign, 14, 36);
  add_strips(sign, 60, 82);
  return std::move(sign).add(rect(0, 42.5, 96, 11, "solid"));
}

Node again_sign(const std::string& said) {
  return grid("again", said).add(circle({48, 29}, 21, "stroke9")).add(bar(59)).add(bar(79));
}

Node out_of_use_sign(const std::string& said) {
  return grid("out-of-use", said)
      .add(rect(3, 22, 43, 20, "solid"))
      .add(rect(50, 54, 43, 20, "solid"));
}

Node no_contact_sign(const std::string& said) {
  return grid("no-contact", said).add(path("M4 60H34M34 44V76M62 36H92M62 20V52", "stroke9"));
}

// The general warning sign of ISO 7010: black triangle edge and exclamation mark on yellow.
Node warning_sign(const std::string& said) {
  return grid("warning", said)
      .add(path("M48 6L93 86H3Z", "w-ground"))
      .add(path("M48 15L85 81.5H11Z", "w-edge"))
      .add(path("M43.5 36H52.5L50.5 62H45.5Z", "w-ink"))
      .add(circle({48, 70}, 5, "w-ink"));
}

std::string arc(double fraction) {
  const double angle = 2 * std::numbers::pi * std::min(fraction, 0.9999);
  return "M48 8A40 40 0 " + std::string(fraction > 0.5 ? "1" : "0") + " 1 " +
         length(48 + 40 * std::sin(angle)) + " " + length(48 - 40 * std::cos(angle));
}

}  // namespace

Node draw_ring(std::optional<double> left_s, double whole_s, const std::string& caption,
               const std::string& label_text) {
  Node sign = grid("ring", label_text).add(circle({48, 48}, 40, "ring-ground"));
  const double left = left_s ? std::max(0.0, *left_s) : 0;
  const double done = left_s && whole_s > 0 ? 1 - std::min(1.0, left / whole_s) : 0;
  if (done > 0) sign.add(path(arc(done), "ring-done"));
  if (left <= 0) return sign;
  const Duration written = duration(left);
  sign.add(label({48, 52}, written.number, "ring-number"));
  const std::string below = caption.empty() ? written.unit : written.unit + " " + caption;
  return std::move(sign).add(label({48, 68}, below, "ring-caption"));
}

Node draw_sign(Sign sign, const std::string& said) {
  switch (sign) {
    case Sign::pass:
      return pass_sign(said);
    case Sign::fail:
      return fail_sign(said);
    case Sign::undecided:
      return undecided_sign(said);
    case Sign::void_:
      return void_sign(said);
    case Sign::free:
      return free_sign(said);
    case Sign::refused:
      return refused_sign(said);
    case Sign::again:
      return again_sign(said);
    case Sign::ring:
      return draw_ring(std::nullopt, 0, "", said);
    case Sign::out_of_use:
      return out_of_use_sign(said);
    case Sign::no_contact:
      return no_contact_sign(said);
    case Sign::warning:
      return warning_sign(said);
  }
  return void_sign(said);
}

Sign sign_of_verdict(const std::string& verdict) {
  if (verdict == "pass") return Sign::pass;
  if (verdict == "fail") return Sign::fail;
  if (verdict == "undecided") return Sign::undecided;
  return Sign::void_;
}

std::string word_of_verdict(const std::string& verdict) {
  if (verdict == "pass") return "Pass";
  if (verdict == "fail") return "Fail";
  if (verdict == "undecided") return "Undecided";
  return "Void";
}

Node verdict_mark(const std::string& verdict) {
  const std::string word = word_of_verdict(verdict);
  return Node("span", "verdict verdict-" + verdict)
      .add(draw_sign(sign_of_verdict(verdict), ""))
      .add(Node("b").say(word));
}

}  // namespace endgate::reports
