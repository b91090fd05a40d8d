// The check sum of a Modbus RTU frame: CRC-16, polynomial 0x8005 reflected, start 0xFFFF, sent low
// byte first.  Source: Modbus over Serial Line V1.02, 6.2.2 and appendix B (from memory).

#pragma once

#include <boost/crc.hpp>
#include <cstdint>
#include <span>

namespace endgate::daemon::modbus {

[[nodiscard]] inline std::uint16_t crc_of(std::span<const std::uint8_t> bytes) {
  boost::crc_optimal<16, 0x8005, 0xffff, 0, true, true> crc;
  crc.process_bytes(bytes.data(), bytes.size());
  return static_cast<std::uint16_t>(crc.checksum());
}

}  // namespace endgate::daemon::modbus
