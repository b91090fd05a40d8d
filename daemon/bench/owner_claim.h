// Whose bench is it?  One register holds the word of the service that commands it; 0: nobody.
//
//   free         our word is written, and read again when it has stood for stands_after: only then
//                the bench is ours
//   ours         ours; asked again every kWatch, and owned no longer than stands_after from the
//                question to the last answer that said so
//   another's    not ours; asked again every kAgain
//
// A device that refuses the word of a second service decides by itself.  With one that does not, the
// last writer wins, and two never own at once, however late a question, a write or a process is: who
// is overwritten asked for the last time before that write, the writer owns stands_after behind it.
//
// Pure: steady times and words in.  A bench without an owner word has word 0 and is always ours.

#pragma once

#include <chrono>
#include <cstdint>
#include <optional>

namespace endgate::daemon {

class OwnerClaim {
 public:
  using Steady = std::chrono::steady_clock::time_point;
  static constexpr std::chrono::milliseconds kWatch{250}, kAgain{1000};

  OwnerClaim(std::uint16_t word, std::chrono::milliseconds stands_after)
      : word_(word), stands_after_(stands_after) {}

  enum class Step {
    none,
    write,  // our word is to be written
    taken,  // the bench is ours from now on
    lost,   // it was ours and is not any more
  };

  void opened(Steady now);  // the device can be asked
  void closed(Steady now);
  [[nodiscard]] bool read_due(Steady now) const { return next_ && !asked_ && now >= *next_; }
  void asked() { asked_ = true; }
  // Absent: the device did not tell its word.  What was asked before it was opened says nothing.
  [[nodiscard]] Step on_read(std::optional<std::uint16_t> word, Steady asked_at, Steady now);
  void on_written(Steady now);
  void on_refused(Steady now);

  [[nodiscard]] bool is_ours() const { return ours_; }
  // May a test be started on it?
  [[nodiscard]] bool owns(Steady now) const {
    return ours_ && (word_ == 0 || now <= seen_ + stands_after_);
  }
  // As last read: whether the motor runs is the business of another service.
  [[nodiscard]] const std::optional<std::uint16_t>& holder() const { return holder_; }

 private:
  [[nodiscard]] Step read_free();
  [[nodiscard]] Step read_ours(Steady asked_at, Steady now);

  std::uint16_t word_;
  std::chrono::milliseconds stands_after_;
  std::optional<Steady> next_;  // question; absent: no contact
  bool asked_ = false;
  bool writing_ = false;
  bool ours_ = false;
  Steady opened_{};
  Steady seen_{};     // asked when the last answer said ours
  Steady written_{};  // our word: answered, or given up on
  std::optional<std::uint16_t> holder_;
};

}  // namespace endgate::daemon
