// What does a bench say that only plays a recorded run?
//
// Columns `set_` and the name of an actuator say what was commanded then.  Stretches between two
// changes of them are sections, and the run follows what is commanded now:
//
//   a command that differs from its section goes to the next section that has it; motor on and off
//   go as far as they must, round the end too, everything else only while the motor stays as it is
//   a section whose successor was not commanded yet is not left: its last second is played
//   backwards and forwards meanwhile, so that noise goes on and nothing leaps
//
// So a motor that is switched off stands still, and a hold that lasts longer than it did then is
// still steady.  A leak test that lasts longer than it did then, because advice ended it early, sees
// its last second again and means nothing: play tests whose leaks were watched for the whole time.  A run must say when its motor ran (set_motor_relay) and begin with it off.
//
// No clock and no thread; reads its file row by row and holds one second of it, kMostKept rows at
// the utmost.

#pragma once

#include <deque>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "daemon/links/recorded_rows.h"

namespace endgate::daemon {

class RecordedRun {
 public:
  static constexpr std::size_t kMostSections = 4096;
  static constexpr std::size_t kMostKept = 4096;
  static constexpr std::int64_t kRepeated_us = 1'000'000;

  // `channels`: columns that will be asked for; `actuators`: what will be commanded.
  RecordedRun(std::unique_ptr<std::istream> file, std::vector<std::string> channels,
              std::vector<std::string> actuators);

  // Before anything else: looks through the next rows.  True when the end is reached, or fault()
  // says why this run cannot be played.
  [[nodiscard]] bool look_through(std::size_t rows);
  [[nodiscard]] const std::string& fault() const { return fault_; }

  void play(std::int64_t by_us);
  void command(std::size_t actuator, double value);       // index in `actuators`
  [[nodiscard]] double value(std::size_t channel) const;  // index in `channels`; kNone: no value
  [[nodiscard]] std::int64_t recorded_us() const;         // time of the row that is shown
  [[nodiscard]] std::size_t rows_held() const { return kept_.size(); }

 private:
  struct Commanded {
    std::size_t column = 0;
    std::string actuator;
    double value = 0;  // now
  };
  struct Section {
    RecordedRows::Place begin;
    std::vector<double> values;  // by `commanded_`
  };

  void find_columns(const std::vector<std::string>& actuators);
  void note(const RecordedRow& row, RecordedRows::Place begin);
  void end_look();
  void begin_section(std::size_t section);
  void take_next();
  [[nodiscard]] bool next_is_of_section() const;
  [[nodiscard]] bool may_go_on() const;
  [[nodiscard]] std::size_t following() const { return (section_ + 1) % sections_.size(); }
  [[nodiscard]] std::optional<std::size_t> section_with(std::size_t commanded) const;
  [[nodiscard]] std::vector<double> commands_in(const RecordedRow& row) const;
  [[nodiscard]] const RecordedRow& shown() const;
  void wrong(const std::string& what);

  RecordedRows rows_;
  std::vector<std::string> channels_;
  std::vector<std::size_t> column_of_channel_;
  std::vector<std::optional<std::size_t>> commanded_of_actuator_;
  std::vector<Commanded> commanded_;
  std::size_t motor_ = 0;  // in `commanded_`
  std::vector<Section> sections_;

  std::size_t section_ = 0;
  std::deque<RecordedRow> kept_;     // of this section, the newest last; never empty when playing
  std::optional<RecordedRow> next_;  // nothing: the file is at its end
  std::int64_t position_us_ = 0;
  std::int64_t waited_us_ = 0;  // at the end of the section
  std::string fault_;
};

}  // namespace endgate::daemon
