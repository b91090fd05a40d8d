// What becomes of an exception that nobody awaited?
//
// On a thread of the service it would end the process at once, with motors running.  It is told
// instead, and whoever is told orders motors off before the end (LineService::on_stray).

#pragma once

#include <boost/asio/io_context.hpp>
#include <exception>
#include <functional>
#include <string>

namespace endgate::daemon {

using TellStray = std::function<void(const std::string& what)>;  // from any thread

template <class Work>
void run_guarded(const TellStray& tell, Work&& work) {
  try {
    work();
  } catch (const std::exception& stray) {
    tell(stray.what());
  } catch (...) {
    tell("something that is no exception of ours");
  }
}

// Until `io` is stopped or has no work: a thread goes on after what is told.
inline void run_to_end(boost::asio::io_context& io, const TellStray& tell) {
  bool ended = false;
  while (!ended)
    run_guarded(tell, [&] {
      io.run();
      ended = true;
    });
}

}  // namespace endgate::daemon
