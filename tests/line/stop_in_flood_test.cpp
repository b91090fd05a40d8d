// Does Stop get through, and the motor go off, when everything else of the service is drowned?

#include <gmock/gmock.h>

#include <thread>

#include "daemon/service/http_server.h"
#include "tests/line/line_plant.h"
#include "tests/support/raw_http.h"

namespace endgate::test {
namespace {

using namespace endgate::daemon;

constexpr std::uint32_t kFirstStranger = INADDR_LOOPBACK + 1;  // 127.0.0.2
constexpr int kStrangers = 12;  // at up to 32 connections each: more than the service takes
constexpr int kPerStranger = 32;

class StopInFlood : public LinePlant {
 protected:
  void SetUp() override {
    LinePlant::SetUp();
    server_ = std::make_unique<HttpServer>(HttpSettings{}, *service_);
  }
  void TearDown() override {
    drained_.set_value();
    server_.reset();
    LinePlant::TearDown();
  }

  // Every thread that may wait is made to: a disk that stalls, and questions without end.
  void stall_pool_and_records() {
    const std::shared_future<void> drained = drained_.get_future().share();
    for (int i = 0; i < 8; ++i) EXPECT_TRUE(service_->on_pool([drained] { drained.wait(); }));
    service_->enter(
        [drained](schema::StoreWriter&) {
          drained.wait();
          return Application::Accepted{};
        },
        [](const Application::Entered&) {});
  }
  void connect(const std::string& bytes, std::uint32_t from = INADDR_LOOPBACK) {
    flood_.push_back(std::make_unique<RawHttp>(server_->port(), from));
    flood_.back()->send(bytes);
  }
  [[nodiscard]] std::string request(const std::string& method, const std::string& target,
                                    const std::string& more = "") const {
    return method + " " + target +
           " HTTP/1.1\r\nHost: 127.0.0.1:" + std::to_string(server_->port()) + "\r\n" + more +
           "\r\n";
  }
  // Pages that listen and never read, big questions, half a head, half a body, not a byte.
  [[nodiscard]] std::string drop_of_flood(int i) const {
    switch (i % 5) {
      case 0:
        return request("GET", "/api/v1/live");
      case 1:
        return request("GET", "/api/v1/trend?model=P1-60-12&metric=fad_400");
      case 2:
        return "POST /api/v1/benches/north/st";
      case 3:
        return request("POST", "/api/v1/benches/north/stop",
                       "Content-Type: application/json\r\nContent-Length: 60000\r\n");
      default:
        return "";
    }
  }
  void flood() {
    for (int i = 0; i < kStrangers * kPerStranger; ++i)
      connect(drop_of_flood(i), kFirstStranger + static_cast<std::uint32_t>(i % kStrangers));
    for (int i = 0; i < 3 * kPerStranger; ++i) connect(drop_of_flood(i));  // from our own address
  }
  // More of it meanwhile, as long as this machine has ports left.
  void keep_knocking() const {
    try {
      for (int i = 0; i < 1000; ++i)
        RawHttp(server_->port(), kFirstStranger + kStrangers).send("GET / HTTP/1.1\r\n");
    } catch (const std::runtime_error&) {
    }
  }
  [[nodiscard]] std::string press_stop() {
    RawHttp page(server_->port());
    const std::string body = R"({"operator":"Ada"})";
    page.send(request("POST", "/api/v1/benches/north/stop",
                      "Content-Type: application/json\r\nConnection: close\r\nContent-Length: " +
                          std::to_string(body.size()) + "\r\n") +
              body);
    return page.read();
  }
  [[nodiscard]] bool motor_goes_off() {
    simbench::Libmodbus peer(bench_.port());
    const auto give_up = std::chrono::steady_clock::now() + 30s;  // against hanging only
    while ((peer.input(2, 1).at(0) & 4U) != 0) {
      if (std::chrono::steady_clock::now() > give_up) return false;
      std::this_thread::sleep_for(5ms);
    }
    return true;
  }

  std::promise<void> drained_;
  std::unique_ptr<HttpServer> server_;
  std::vector<std::unique_ptr<RawHttp>> flood_;
};

TEST_F(StopInFlood, GetsThroughLoggedOutAndTheMotorGoesOff) {
  begin(serial(50));
  wait_for_step("hold_0");
  stall_pool_and_records();
  flood();
  std::thread stranger([&] { keep_knocking(); });
  const std::string answer = press_stop();
  EXPECT_EQ(status_of(answer), 200) << answer;
  EXPECT_TRUE(motor_goes_off());
  stranger.join();
  flood_.clear();
  drained_.set_value();
  drained_ = {};
  const LineState shown = wait_for_verdict();
  ASSERT_TRUE(shown.result);
  EXPECT_EQ(shown.result->verdict, "void");
  EXPECT_EQ(shown.result->reasons.front().code, "broken_off_stopped_by_person");
  EXPECT_THAT(shown.result->sentence, testing::HasSubstr("topped by Ada"));
}

}  // namespace
}  // namespace endgate::test
