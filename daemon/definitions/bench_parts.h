// How does each part of a bench file read?  One function a part; all put what is wrong into the
// reader's findings.

#pragma once

#include <optional>
#include <vector>

#include "daemon/definitions/bench_definition.h"
#include "daemon/definitions/read_register.h"

namespace endgate::daemon {

[[nodiscard]] std::vector<DeviceDefinition> read_devices(TomlReader& root);
// The tables of one device that samples at a trigger.
[[nodiscard]] CaptureDefinition read_capture(TomlReader& device);
// The devices must outlive the scope and keep their number.
[[nodiscard]] RegisterScope scope_of(std::vector<DeviceDefinition>& devices);
[[nodiscard]] std::optional<ClockDefinition> read_clock(TomlReader& root,
                                                        const RegisterScope& scope);
// Without a tacho (role speed) where the bench has a waveform of the motor's current.
[[nodiscard]] std::vector<ChannelDefinition> read_channels(TomlReader& root,
                                                           const RegisterScope& scope,
                                                           bool tacho_needed);
[[nodiscard]] std::optional<WaveformDefinition> read_current_waveform(TomlReader& root,
                                                                      const RegisterScope& scope);
[[nodiscard]] std::vector<ActuatorDefinition> read_actuators(TomlReader& root,
                                                             const RegisterScope& scope);
[[nodiscard]] std::vector<ReceiverDefinition> read_receivers(TomlReader& root);
[[nodiscard]] InterlockDefinition read_interlocks(TomlReader& root, const RegisterScope& scope);
[[nodiscard]] std::optional<LeaseDefinition> read_lease(TomlReader& root);
[[nodiscard]] std::vector<ReferenceUnitDefinition> read_reference_units(TomlReader& root);
[[nodiscard]] std::vector<DueCheck> read_due_checks(TomlReader& root);
[[nodiscard]] std::vector<WearPart> read_wear_parts(TomlReader& root);

}  // namespace endgate::daemon
