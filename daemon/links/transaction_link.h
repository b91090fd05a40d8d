// Request and answer behind the Link interface, for every wire on which the daemon asks: a stream
// carries the bytes, a dialogue knows what they mean.
//
// Every transaction has one absolute deadline on the steady clock, over all of its bytes: a device
// that drips them one by one is late like a silent one.  Late or wrong: the connection is closed.
// One timer per connection carries connect, transaction and pause deadlines; it is re-armed only
// when it fires or when a deadline comes before it, not for every transaction.

#pragma once

#include <boost/asio/any_io_executor.hpp>
#include <chrono>
#include <memory>
#include <string>

#include "daemon/links/byte_stream.h"
#include "daemon/links/dialogue.h"
#include "daemon/links/link.h"

namespace endgate::daemon {

struct LinkTimes {
  std::chrono::milliseconds transaction_deadline{100};
  std::chrono::milliseconds connect_deadline{1000};
  std::chrono::milliseconds reconnect_first{100};  // doubles
  std::chrono::milliseconds reconnect_last{2000};
};

// `device` is for error texts.
[[nodiscard]] std::shared_ptr<Link> make_transaction_link(boost::asio::any_io_executor executor,
                                                          std::string device, LinkTimes times,
                                                          std::shared_ptr<ByteStream> stream,
                                                          std::unique_ptr<Dialogue> dialogue);

}  // namespace endgate::daemon
