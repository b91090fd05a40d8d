#include "reports/calibrate_page.h"

#include "reports/bench_page.h"
#include "reports/page_frame.h"
#include "reports/words.h"

namespace endgate::reports {
namespace {

Node field(const std::string& name, const std::string& caption, const std::string& value,
           const std::string& example = "") {
  Node label("label");
  label.say(caption + " ");
  return std::move(label).add(Node("input")
                                  .set("name", name)
                                  .set("value", value)
                                  .set("placeholder", example)
                                  .set("autocomplete", "off"));
}

Node hidden(const std::string& name, const std::string& value) {
  return Node("input").set("type", "hidden").set("name", name).set("value", value);
}

Node channels_of(const CalibratePage& page) {
  Node line("p", "choices");
  for (const ChannelLink& channel : page.channels) {
    Node link("a");
    link.set("href", channel.href).say(channel.words);
    if (channel.chosen) link.set("aria-current", "true");
    line.add(std::move(link)).say(" ");
  }
  return line;
}

// One row a point; what is left empty is no point.
Node point_table(const CalibratePage& page) {
  Node body("tbody");
  for (std::size_t i = 0; i < page.rows.size(); ++i) {
    const std::string number = std::to_string(i + 1);
    Node row("tr");
    row.add(words("th", number));
    for (std::size_t cell = 0; cell < 3; ++cell) {
      static constexpr const char* kNames[] = {"reading", "reference", "u"};
      row.add(Node("td").add(Node("input")
                                 .set("name", kNames[cell] + number)
                                 .set("value", page.rows[i][cell])
                                 .set("aria-label", kNames[cell] + (" of point " + number))
                                 .set("inputmode", "decimal")
                                 .set("autocomplete", "off")));
    }
    body.add(std::move(row));
  }
  Node head("tr");
  head.add(words("th", "Point")).add(words("th", "Reading as shown, " + page.unit));
  head.add(words("th", "Reference, " + page.unit));
  head.add(words("th", "Standard uncertainty of the reference, " + page.unit));
  Node table("table", "points");
  return std::move(table).add(Node("thead").add(std::move(head))).add(std::move(body));
}

Node entry_of(const CalibratePage& page) {
  Node form("form", "entry");
  form.set("method", "get").set("action", "/benches/" + page.bench + "/calibrate");
  form.add(hidden("channel", page.channel));
  form.add(Node("div", "scroll whole").add(point_table(page)));
  form.add(field("against", "Held against", page.reference, "name and number of the reference"));
  form.add(field("due", "Valid until", page.due, "2027-02-14"));
  form.add(field("by", "Your name", page.by));
  Node button("button");
  return std::move(form).add(std::move(button).set("type", "submit").say("Show the line"));
}

Node accept_of(const CalibratePage& page) {
  Node form("form", "command");
  form.set("data-address", "/api/v1/benches/" + page.bench + "/calibrate")
      .set("data-then", "/benches/" + page.bench);
  for (const auto& [name, value] :
       {std::pair<const char*, const std::string&>{"channel", page.channel},
        {"points", page.points},
        {"due", page.due},
        {"by", page.by},
        {"reference", page.reference},
        {"version", page.version}})
    form.add(hidden(name, value));
  Node button("button");
  form.add(std::move(button).set("type", "submit").say("Accept as " + page.by));
  return std::move(form).add(Node("p", "answer").set("role", "alert"));
}

}  // namespace

std::string page_of(const CalibratePage& page) {
  const std::string heading = "Calibrate " + page.channel_name + ", bench " + page.bench;
  Node main("main");
  main.add(words("h1", heading)).add(channels_of(page));
  Node entry("section", "sheet wide");
  entry.add(words("h2", "1  Points"));
  entry.add(words("p", "Now: " + page.now + ". Read with calibration version " + page.version +
                           ", connected to the reference and steady."));
  main.add(std::move(entry).add(entry_of(page)));
  if (!page.refusal.empty()) main.add(words("p", page.refusal, "say"));
  if (!page.fitted) return page_text({heading, "Benches", std::move(main)});
  Node fit("section", "sheet wide");
  fit.add(words("h2", "2  Line and residuals")).add(words("p", page.sentence, "say"));
  fit.add(Node("div", "scroll").add(draw(page.chart)));
  main.add(std::move(fit));
  main.add(word_table("Points", {"Reading", "Reference", "Residual"}, page.residuals));
  main.add(word_table("3  In force and new", {"", "In force", "New"}, page.old_and_new));
  return page_text({heading, "Benches", std::move(main).add(accept_of(page))});
}

}  // namespace endgate::reports
