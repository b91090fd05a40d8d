#include "daemon/cli/fact_way.h"

#include <iostream>

#include "daemon/cli/daemon_client.h"

namespace endgate::daemon {

FactWay::FactWay(const StorePlace& place) : folder_(store_folder(place)) {
  std::filesystem::create_directories(folder_);
  try {
    writer_ = std::make_unique<schema::StoreWriter>(folder_);
  } catch (const schema::StoreFault& fault) {
    if (fault.kind() != schema::StoreFault::Kind::busy || place.config.empty()) throw;
    service_ = service_in(place.config);
  }
}

Application::Entered FactWay::enter(const Application::MakeFact& make, const std::string& target,
                                    const std::map<std::string, std::string>& fields) {
  return writer_ ? make(*writer_) : enter_through_daemon(*service_, target, fields);
}

namespace {

constexpr int kCannotBeTaken = 422;

}  // namespace

int tell(const Application::Entered& answer, ExitStatus wrong) {
  if (const auto* refusal = std::get_if<CommandRefusal>(&answer)) {
    std::cerr << refusal->sentence << "\n";
    return refusal->http_status == kCannotBeTaken ? wrong : kNegative;
  }
  std::cout << std::get<Application::Accepted>(answer).id << "\n";
  return kOk;
}

}  // namespace endgate::daemon
