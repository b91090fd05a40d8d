#include "daemon/log/log.h"

#include <spdlog/async.h>
#include <spdlog/sinks/stdout_sinks.h>
#include <spdlog/spdlog.h>

#include <memory>
#include <string>

namespace endgate::daemon {
namespace {

constexpr std::size_t kQueueLines = 8192;

std::shared_ptr<spdlog::async_logger>& logger() {
  static std::shared_ptr<spdlog::async_logger> instance;
  return instance;
}

void write(spdlog::level::level_enum level, std::string_view line) {
  if (logger()) logger()->log(level, "{}", line);
}

}  // namespace

void start_log(std::string_view level) {
  spdlog::init_thread_pool(kQueueLines, 1);
  auto sink = std::make_shared<spdlog::sinks::stderr_sink_mt>();
  logger() =
      std::make_shared<spdlog::async_logger>("endgate", std::move(sink), spdlog::thread_pool(),
                                             spdlog::async_overflow_policy::overrun_oldest);
  logger()->set_level(spdlog::level::from_str(std::string(level)));
  logger()->flush_on(spdlog::level::warn);
  logger()->set_pattern("%Y-%m-%dT%H:%M:%S.%e%z %l %v");
}

void stop_log() {
  const auto pool = spdlog::thread_pool();
  if (const std::size_t lost = pool ? pool->overrun_counter() : 0; lost > 0)
    log_warning(std::to_string(lost) + " lines of this log were lost: they came too fast");
  logger().reset();
  spdlog::shutdown();
}

void log_info(std::string_view line) { write(spdlog::level::info, line); }
void log_warning(std::string_view line) { write(spdlog::level::warn, line); }
void log_error(std::string_view line) { write(spdlog::level::err, line); }

}  // namespace endgate::daemon
