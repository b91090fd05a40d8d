// The line view as the page's script takes it: words, and drawings as nested arrays
// ["tag", {attributes}, child, "text", ...].

#include "daemon/service/json_value.h"

namespace endgate::daemon {
namespace {

Json drawing_of(const reports::Node& node) {
  if (node.tag.empty()) return node.text;
  Json attributes = Json::object();
  for (const auto& [name, value] : node.attributes) attributes[name] = value;
  Json out = Json::array({node.tag, attributes});
  for (const reports::Node& child : node.children) out.push_back(drawing_of(child));
  return out;
}

Json limits_of(const reports::LineView& view) {
  Json rows = Json::array();
  for (const reports::LimitRow& row : view.limits)
    rows.push_back({{"name", row.name},
                    {"value", row.value},
                    {"limit", row.limit},
                    {"ruler", drawing_of(row.ruler)}});
  return rows;
}

Json rail_of(const reports::LineView& view) {
  Json marks = Json::array();
  for (const reports::RailMark& mark : view.rail)
    marks.push_back({{"name", mark.name}, {"state", mark.state}});
  return marks;
}

Json live_of(const reports::LineView& view) {
  Json cells = Json::array();
  for (const reports::LiveCell& cell : view.live)
    cells.push_back(
        {{"name", cell.name}, {"value", cell.value}, {"unit", cell.unit}, {"note", cell.note}});
  return cells;
}

Json choices_of(const reports::LineView& view) {
  Json choices = Json::array();
  for (const reports::Choice& choice : view.choices)
    choices.push_back({{"key", choice.key}, {"name", choice.name}});
  return choices;
}

}  // namespace

std::string view_json(const reports::LineView& view) {
  Json json = {{"version", view.version},
               {"bench", view.bench},
               {"bench_name", view.bench_name},
               {"look", view.look},
               {"word", view.word},
               {"about", view.about},
               {"serial", view.serial},
               {"purpose", view.purpose},
               {"standing", view.standing},
               {"act", view.act},
               {"next_caption", view.next_caption},
               {"next", view.next},
               {"note", view.note},
               {"why_caption", view.why_caption},
               {"sentence", view.sentence}};
  json["limits"] = limits_of(view);
  json["paragraphs"] = view.paragraphs;
  json["choices"] = choices_of(view);
  json["may_start"] = view.may_start;
  json["may_clear"] = view.may_clear;
  json["sign"] = drawing_of(view.sign);
  json["rail"] = rail_of(view);
  json["live"] = live_of(view);
  json["title"] = view.title;
  json["status"] = view.status;
  json["sound"] = view.sound;
  json["batch"] = view.batch;
  json["simulated"] = view.simulated;
  json["trial"] = view.trial;
  return written(json);
}

std::string picture_json(const reports::LineView& view) {
  return written({{"bench", view.bench},
                  {"wide", drawing_of(view.curve)},
                  {"narrow", drawing_of(view.curve_narrow)}});
}

}  // namespace endgate::daemon
