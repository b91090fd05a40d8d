#include "daemon/mapping/context_bytes.h"

#include <algorithm>

#include "daemon/mapping/context_fields.h"

namespace endgate::daemon {

std::vector<std::uint8_t> context_bytes(const analysis::Context& context) {
  return schema::encode_document(schema::kContextKind, context);
}

analysis::Context context_from(std::span<const std::uint8_t> bytes) {
  return schema::decode_document<analysis::Context>(schema::kContextKind, bytes);
}

std::vector<std::string> context_ids(const analysis::Context& context) {
  std::vector<std::string> ids;
  const auto add = [&](const std::string& id) {
    if (!id.empty() && std::ranges::find(ids, id) == ids.end()) ids.push_back(id);
  };
  add(context.bench.definition);
  for (const analysis::ChannelFacts& channel : context.bench.channels) add(channel.calibration.id);
  for (const analysis::Receiver& receiver : context.bench.receivers) add(receiver.constants);
  add(context.model.definition);
  add(context.model.thermal.id);
  add(context.limits.id);
  add(context.causes.id);
  return ids;
}

}  // namespace endgate::daemon
