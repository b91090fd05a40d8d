#include "reports/page_frame.h"

namespace endgate::reports {
namespace {

Node link_to(const std::string& href, const std::string& words, bool here) {
  Node link("a");
  link.set("href", href).say(words);
  if (here) link.set("aria-current", "page");
  return link;
}

Node navigation(const std::string& here) {
  Node bar("nav", "bar");
  bar.set("aria-label", "Pages");
  for (const auto& [href, words] : {std::pair<const char*, const char*>{"/", "Line"},
                                    {"/units", "Units"},
                                    {"/trends", "Trends"},
                                    {"/population", "Population"},
                                    {"/benches", "Benches"},
                                    {"/alarms", "Alarms"}})
    bar.add(link_to(href, words, here == words));
  Node form("form", "scan");
  form.set("action", "/units").set("method", "get").set("role", "search");
  form.add(Node("label", "hidden").set("for", "scan").say("Scan or type a serial"));
  form.add(Node("input")
               .set("id", "scan")
               .set("name", "serial")
               .set("placeholder", "Scan or type a serial")
               .set("autocomplete", "off")
               .set("spellcheck", "false"));
  return std::move(bar).add(std::move(form));
}

Node head_of(const std::string& title) {
  Node head("head");
  head.add(Node("meta").set("charset", "utf-8"));
  head.add(
      Node("meta").set("name", "viewport").set("content", "width=device-width, initial-scale=1"));
  head.add(Node("title").say(title));
  for (const char* sheet : {"tokens.css", "chart.css", "page.css"})
    head.add(Node("link").set("rel", "stylesheet").set("href", std::string("/web/") + sheet));
  head.add(
      Node("link").set("rel", "icon").set("href", "/web/icon.svg").set("type", "image/svg+xml"));
  for (const char* script : {"page.js", "forms.js", "alarms.js"})
    head.add(Node("script").set("type", "module").set("src", std::string("/web/") + script));
  return head;
}

}  // namespace

std::string page_text(PageFrame frame) {
  Node html("html");
  html.set("lang", "en").add(head_of(frame.title));
  Node body("body");
  body.add(navigation(frame.here)).add(std::move(frame.main));
  body.add(Node("p", "hidden").set("id", "said").set("role", "status"));
  return "<!DOCTYPE html>\n" + to_markup(std::move(html).add(std::move(body)));
}

std::string message_page(const std::string& here, const std::string& heading,
                         const std::string& sentence) {
  Node main("main");
  main.add(Node("h1").say(heading)).add(Node("p", "say").say(sentence));
  return page_text({heading, here, std::move(main)});
}

}  // namespace endgate::reports
