#include "reports/alarms_page.h"

#include "reports/node.h"
#include "reports/page_frame.h"
#include "reports/words.h"

namespace endgate::reports {
namespace {

Node field(const std::string& name, const std::string& caption) {
  Node label("label");
  label.say(caption + " ");
  return std::move(label).add(
      Node("input").set("name", name).set("autocomplete", "off").set("required", "required"));
}

Node form_of(const AlarmRow& alarm, const std::string& state, const std::string& act) {
  Node form("form", "command entry");
  form.set("data-address", "/api/v1/alarms/" + alarm.number).set("data-then", "/alarms");
  form.add(Node("input").set("type", "hidden").set("name", "state").set("value", state));
  form.add(field("by", "Your name"));
  if (state == "closed") form.add(field("cause", "Cause")).add(field("action", "What was done"));
  Node button("button");
  form.add(std::move(button).set("type", "submit").say(act));
  return std::move(form).add(Node("p", "answer").set("role", "alert"));
}

Node alarm_of(const AlarmRow& alarm) {
  Node part("section", "sheet wide");
  part.add(words("h2", alarm.text));
  part.add(words("p", "Alarm " + alarm.number + ", " + alarm.kind +
                          (alarm.bench.empty() ? "" : ", bench " + alarm.bench) + ", since " +
                          alarm.since));
  part.add(alarm.owner.empty() ? words("p", "Nobody has taken it over.", "strong")
                               : words("p", "Taken over by " + alarm.owner + "."));
  if (alarm.owner.empty()) part.add(form_of(alarm, "owned", "Take over"));
  return std::move(part).add(form_of(alarm, "closed", "Close"));
}

}  // namespace

std::string alarms_page(const std::vector<AlarmRow>& alarms) {
  Node main("main");
  main.add(words("h1", "Alarms"));
  if (alarms.empty()) main.add(words("p", "No alarm is open.", "say"));
  for (const AlarmRow& alarm : alarms) main.add(alarm_of(alarm));
  return page_text({"Alarms", "Alarms", std::move(main)});
}

}  // namespace endgate::reports
