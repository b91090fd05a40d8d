// Forty batches on two benches, with one planted cause or none.  The code under test never reads
// any of this but the columns.

#pragma once

#include <algorithm>
#include <array>
#include <random>
#include <string>

#include "analysis/statistics/product_or_bench.h"

namespace endgate::test {

struct Planted {
  std::string factor{}, level{};  // empty: a clean history
  bool ramp = false;
  double shift = 0;       // in sigma of one unit
  double neighbours = 0;  // correlation of neighbouring batches
};

struct MadeHistory {
  statistics::TestColumns columns{};
  std::vector<statistics::ReferenceCheck> checks{};
  Planted planted{};
  int since = 0;
};

class HistoryMaker {
 public:
  explicit HistoryMaker(unsigned seed) : random_(seed) {}

  MadeHistory make(const Planted& planted, double check_u = 0.25) {
    MadeHistory made{.planted = planted};
    for (const char* name : {"motor lot", "reed lot", "ring lot", "gasket lot", "calibration",
                             "operator", "limit set", "software"})
      made.columns.causes.push_back({.name = name});
    draw_changes();
    made.since = 8 + static_cast<int>(random_() % 24);
    double level = 0;
    for (int batch = 0; batch < kBatches; ++batch) {
      level = planted.neighbours * level + 0.25 * normal_(random_);
      for (int unit = 0; unit < kUnits; ++unit) add_unit(made, batch, unit, level);
      if (check_u > 0 && batch % 2 == 0) add_checks(made, batch, check_u);
    }
    return made;
  }
  // A level of the factor that about `share` of the history has.
  std::string some_level(const std::string& factor) {
    if (factor == "operator") return "op" + std::to_string(random_() % 4);
    if (factor == "software") return "1.1";
    if (factor == "calibration") return random_() % 2 == 0 ? "north@2" : "south@2";
    return factor + " " + std::to_string(1 + random_() % 4);
  }
  unsigned draw() { return static_cast<unsigned>(random_()); }

 private:
  static constexpr int kBatches = 40, kUnits = 50;

  void draw_changes() {
    // No two parts change lots with the same batch: nobody could tell them apart.
    for (auto& lots : lot_starts_) lots.clear();
    for (int i = 0; i < 4; ++i) {
      std::array<int, 4> offsets{0, 2, 4, 6};
      std::ranges::shuffle(offsets, random_);
      for (std::size_t part = 0; part < 4; ++part)
        lot_starts_[part].push_back(3 + i * 9 + offsets[part]);
    }
    calibrated_ = {10 + static_cast<int>(random_() % 20), 10 + static_cast<int>(random_() % 20)};
    software_ = 10 + static_cast<int>(random_() % 20);
    limits_ = 10 + static_cast<int>(random_() % 20);
  }

  std::vector<std::string> levels_of(int batch, int bench) {
    std::vector<std::string> levels;
    const char* names[] = {"motor lot", "reed lot", "ring lot", "gasket lot"};
    for (std::size_t i = 0; i < 4; ++i) {
      int lot = 0;
      for (const int start : lot_starts_[i]) lot += batch >= start ? 1 : 0;
      levels.push_back(std::string(names[i]) + " " + std::to_string(lot));
    }
    const bool again = batch >= calibrated_[static_cast<std::size_t>(bench)];
    levels.push_back(std::string(bench == 0 ? "north@" : "south@") + (again ? "2" : "1"));
    levels.push_back("op" + std::to_string(random_() % 4));
    levels.push_back(batch >= limits_ ? "limits@2" : "limits@1");
    levels.push_back(batch >= software_ ? "1.1" : "1.0");
    return levels;
  }

  double bench_effect(const MadeHistory& made, int batch, int bench) const {
    const Planted& p = made.planted;
    if (p.factor != "bench" || (p.level == "south") != (bench == 1) || batch < made.since) return 0;
    return p.ramp ? p.shift * (batch - made.since + 1) / (kBatches - made.since) : p.shift;
  }

  void add_unit(MadeHistory& made, int batch, int unit, double level) {
    const int bench = unit % 2;
    const std::vector<std::string> levels = levels_of(batch, bench);
    double value = level + 0.3 * bench + normal_(random_) + bench_effect(made, batch, bench);
    if (made.planted.factor == "product" && batch >= made.since) value += made.planted.shift;
    auto& columns = made.columns;
    for (std::size_t f = 0; f < levels.size(); ++f) {
      columns.causes[f].add(levels[f]);
      if (columns.causes[f].name == made.planted.factor && levels[f] == made.planted.level)
        value += made.planted.shift;
    }
    columns.position.push_back(static_cast<std::int64_t>(columns.value.size()) + 1);
    columns.time_utc_ms.push_back(batch * 86400000LL);
    columns.value.push_back(100 + value);
    columns.u.push_back(0.2);
    columns.batch.add("b" + std::to_string(batch));
    columns.bench.add(bench == 0 ? "north" : "south");
  }

  void add_checks(MadeHistory& made, int batch, double u) {
    for (const int bench : {0, 1})
      made.checks.push_back(
          {.bench = bench == 0 ? "north" : "south",
           .unit = bench == 0 ? "R1" : "R2",
           .batch = static_cast<std::size_t>(batch),
           .value = 101 + 0.3 * bench + bench_effect(made, batch, bench) + u * normal_(random_),
           .u = u});
  }

  std::mt19937 random_;
  std::normal_distribution<double> normal_{0, 1};
  std::array<std::vector<int>, 4> lot_starts_{};
  std::array<int, 2> calibrated_{};
  int software_ = 0, limits_ = 0;
};

}  // namespace endgate::test
