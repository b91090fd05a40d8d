// A client that sends bytes as they are and reads whatever comes back.  Nothing of the server's
// own code is in it.

#pragma once

#include <arpa/inet.h>
#include <netinet/in.h>
#include <poll.h>
#include <sys/socket.h>
#include <unistd.h>

#include <chrono>
#include <cstdint>
#include <stdexcept>
#include <string>
#include <string_view>

namespace endgate::test {

class RawHttp {
 public:
  // `from`: the client's own address, one of the many of the loopback network.
  explicit RawHttp(std::uint16_t port, std::uint32_t from = INADDR_LOOPBACK)
      : socket_(::socket(AF_INET, SOCK_STREAM, 0)) {
    sockaddr_in address{};
    address.sin_family = AF_INET;
    address.sin_addr.s_addr = htonl(from);
    if (::bind(socket_, reinterpret_cast<const sockaddr*>(&address), sizeof address) != 0)
      throw std::runtime_error("cannot take an address of the loopback network");
    address.sin_port = htons(port);
    address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    if (::connect(socket_, reinterpret_cast<const sockaddr*>(&address), sizeof address) != 0)
      throw std::runtime_error("cannot connect to the server under test");
  }
  ~RawHttp() { ::close(socket_); }
  RawHttp(const RawHttp&) = delete;
  RawHttp& operator=(const RawHttp&) = delete;

  void send(std::string_view bytes) {
    while (!bytes.empty()) {
      const ssize_t sent = ::send(socket_, bytes.data(), bytes.size(), MSG_NOSIGNAL);
      if (sent <= 0) return;  // the server has closed: the answer says why
      bytes.remove_prefix(static_cast<std::size_t>(sent));
    }
  }
  // Until the server closes, `wanted` stands in what came, or the patience ends.
  std::string read(std::string_view wanted = "\x01never",
                   std::chrono::milliseconds patience = std::chrono::seconds(20)) {
    std::string all;
    const auto until = std::chrono::steady_clock::now() + patience;
    while (all.find(wanted) == std::string::npos) {
      const auto left = std::chrono::duration_cast<std::chrono::milliseconds>(
          until - std::chrono::steady_clock::now());
      pollfd waiting{socket_, POLLIN, 0};
      if (left.count() <= 0 || ::poll(&waiting, 1, static_cast<int>(left.count())) <= 0) break;
      char piece[65536];
      const ssize_t count = ::recv(socket_, piece, sizeof piece, 0);
      if (count <= 0) {
        closed_ = true;
        break;
      }
      all.append(piece, static_cast<std::size_t>(count));
    }
    return all;
  }
  void finish_sending() { ::shutdown(socket_, SHUT_WR); }
  [[nodiscard]] bool closed() const { return closed_; }

 private:
  int socket_;
  bool closed_ = false;
};

inline int status_of(const std::string& answer) {
  return answer.starts_with("HTTP/1.1 ") ? std::stoi(answer.substr(9, 3)) : 0;
}
inline std::string body_of(const std::string& answer) {
  const std::size_t end = answer.find("\r\n\r\n");
  return end == std::string::npos ? "" : answer.substr(end + 4);
}

}  // namespace endgate::test
