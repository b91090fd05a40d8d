// Who keeps motors off from the first moment of a start until the service has its benches?
//
// Motor off goes out before the store is opened, brought up to date and recovered, and at a start
// that ends because there is none.  Which texts were accepted is then unknown: every bench file of
// the folder that can be read is obeyed as it stands.  A bench that another service holds by its
// owner word is left alone as ever.
//
// Off goes out from the calling thread, which touches the bench files alone; a thread of its own then
// goes on, repeating it and reaching for benches that did not answer yet, however long the disk of
// the store holds the caller.  Two that talk to one bench would be in each other's way: before the
// service connects its own, hand_over().
//
// Threading: all members on one thread.

#pragma once

#include <boost/asio/io_context.hpp>
#include <chrono>
#include <filesystem>
#include <memory>
#include <string>
#include <thread>
#include <utility>
#include <vector>

namespace endgate::daemon {

class Bench;

struct MotorsOff {
  std::vector<std::string> read_back;      // ids of benches
  std::vector<std::string> not_read_back;  // nobody knows whether their motor runs
  std::vector<std::string> held_by_other;  // by another service, which knows
};

class OffKeeper {
 public:
  explicit OffKeeper(std::filesystem::path config_folder);
  ~OffKeeper();  // hands over
  OffKeeper(const OffKeeper&) = delete;
  OffKeeper& operator=(const OffKeeper&) = delete;

  // Orders every motor off, unless it does so already, and says what is read back: at once when there
  // is nothing to wait for, else after `at_most`.  Goes on with all of them afterwards.
  [[nodiscard]] MotorsOff keep_off(std::chrono::milliseconds at_most);

  // Gives the benches back, off as they are, which takes two seconds where one does not obey; it may
  // keep them off again later.  Nothing to do when it keeps none.
  void hand_over();

 private:
  void connect();
  void turn();  // on a thread of its own
  void rest();
  [[nodiscard]] MotorsOff motors() const;

  std::filesystem::path config_folder_;
  boost::asio::io_context io_;
  std::vector<std::pair<std::string, std::unique_ptr<Bench>>> benches_;  // by id
  std::thread thread_;  // while it turns, nothing else touches the benches
};

// "Motor off was read back from bench north.", and what a person has to do about the others.
[[nodiscard]] std::string text_of(const MotorsOff& motors);

}  // namespace endgate::daemon
