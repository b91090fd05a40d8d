// Who asks the devices of a bench at each tick, and puts their answers together?
//
// One round at a time: while an answer is outstanding further ticks are skipped, never queued.  A
// round fails as a whole when any device does not answer; then its link is closed anyway.  A device
// that keeps its own pace is asked when it is free, and what it said joins the next round.  Spans of
// a device that is asked one after the other are reads of their own, so that each answer is told as
// it comes.

#pragma once

#include <functional>
#include <memory>
#include <vector>

#include "daemon/bench/frame_maker.h"
#include "daemon/bench/poll_plan.h"
#include "daemon/links/link.h"

namespace endgate::daemon {

class Poller {
 public:
  using Links = std::vector<std::shared_ptr<Link>>;  // in the order of BenchDefinition::devices
  struct Events {
    std::function<void(RoundAnswer)> answered;
    std::function<void(const std::vector<std::size_t>& channels)> missed;
    // Every answer as it comes, before its round is whole.
    std::function<void(const DeviceSpan&, const SpanAnswer&)> part{};
  };

  Poller(const BenchDefinition& bench, Links links, Events events);
  ~Poller();

  [[nodiscard]] const PollPlan& plan() const { return plan_; }
  void tick(std::int64_t number);

 private:
  struct Round;
  struct Part;
  struct Asked;
  using Done = std::function<void(const std::vector<DeviceSpan>&, ReadAnswer)>;
  void ask(std::size_t device, std::vector<DeviceSpan> spans, Done done);
  void ask_one_by_one(std::size_t device, std::vector<DeviceSpan> spans, Done done);
  void ask_alone(Part part);
  void tell(const std::vector<DeviceSpan>& spans, const ReadAnswer& answer) const;
  [[nodiscard]] std::vector<Part> parts_of(PollRound due) const;
  void ask_in_round(const std::shared_ptr<Round>& round, std::size_t device,
                    std::vector<DeviceSpan> spans);
  void take(const std::shared_ptr<Round>& round, const std::vector<DeviceSpan>& spans,
            ReadAnswer answer);

  struct Manner {
    bool own_pace = false;
    bool one_by_one = false;
    bool asked = false;
  };

  PollPlan plan_;
  std::vector<std::size_t> device_of_channel_;
  std::vector<Manner> manners_;           // by device
  std::shared_ptr<RoundAnswer> carried_;  // what devices of their own pace said since
  Links links_;
  Events events_;
  std::shared_ptr<Round> pending_;  // handlers hold it weakly
};

}  // namespace endgate::daemon
