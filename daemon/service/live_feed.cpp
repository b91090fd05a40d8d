#include "daemon/service/live_feed.h"

#include "daemon/service/json_write.h"
#include "daemon/views/line_view.h"

namespace endgate::daemon {

LiveFeed::LiveFeed(Application& application, std::function<void()> changed)
    : application_(application),
      subscription_(
          application.subscribe([changed = std::move(changed)](const LineState&) { changed(); })) {}

LiveFeed::~LiveFeed() { application_.unsubscribe(subscription_); }

std::vector<std::string> LiveFeed::benches() const { return application_.benches(); }

std::shared_ptr<const LiveFrame> LiveFeed::frame(const std::string& bench) {
  const auto line = application_.line(bench);
  if (!line) return nullptr;
  std::shared_ptr<const LiveFrame>& newest = newest_[bench];
  if (newest && newest->version == line->version) return newest;
  const reports::LineView view = line_view_of(*line);
  newest = std::make_shared<LiveFrame>(
      LiveFrame{.version = line->version,
                .state = server_event("line", view_json(view)),
                .picture = server_event("picture", picture_json(view))});
  return newest;
}

std::string LiveListener::news(LiveFeed& feed) {
  std::string out;
  for (const std::string& bench : feed.benches()) {
    if (!only_bench_.empty() && bench != only_bench_) continue;
    const auto frame = feed.frame(bench);
    auto& told = told_[bench];
    if (!frame || frame == told) continue;
    out += frame->state;
    if (!told || frame->picture != told->picture) out += frame->picture;
    told = frame;
  }
  return out;
}

std::string server_event(const std::string& name, const std::string& data) {
  return "event: " + name + "\ndata: " + data + "\n\n";
}

}  // namespace endgate::daemon
