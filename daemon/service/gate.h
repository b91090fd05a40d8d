// May this request be read any further?  Decided on its head alone, before a byte of its body.
//
// Refuses what RFC 9112 forbids or lets two readers understand differently, hosts that are not
// ours (DNS rebinding), and requests that another site's page made a browser send.  Every refusal
// closes the connection, so that left-over bytes are never taken for a second request.

#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "daemon/service/message.h"

namespace endgate::daemon {

inline constexpr std::size_t kBodyLimit = 65536;
// A file of results or lots as one text of a JSON object (daemon/exchange/table.h bounds the file itself).
inline constexpr std::size_t kImportBodyLimit = std::size_t{12} << 20;
inline constexpr std::string_view kImportTarget = "/api/v1/import";
inline constexpr std::string_view kImportLotsTarget = "/api/v1/import/lots";
inline constexpr std::size_t kFieldLimit = 64;

// What a browser may call this service: the listen address, localhost, 127.0.0.1 and [::1].
[[nodiscard]] std::vector<std::string> allowed_hosts(const std::string& address,
                                                     std::uint16_t port);

// Nothing: read on.
[[nodiscard]] std::optional<Response> refused_by_gate(const RequestHead& head,
                                                      const std::vector<std::string>& hosts);

}  // namespace endgate::daemon
