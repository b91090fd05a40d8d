#include "reports/form.h"

#include <algorithm>

namespace endgate::reports {
namespace {

Node select_of(const FormField& field) {
  Node select("select");
  select.set("name", field.name);
  std::vector<FormChoice> choices = field.choices;
  // What was asked for stays visible, also when it is not among what there is.
  if (std::ranges::find(choices, field.value, &FormChoice::value) == choices.end())
    choices.insert(choices.begin(), {field.value, field.value});
  for (const FormChoice& choice : choices) {
    Node option("option");
    option.set("value", choice.value).say(choice.words);
    if (choice.value == field.value) option.set("selected", "selected");
    select.add(std::move(option));
  }
  return select;
}

Node input_of(const FormField& field) {
  return Node("input")
      .set("name", field.name)
      .set("value", field.value)
      .set("placeholder", field.example)
      .set("autocomplete", "off");
}

}  // namespace

Node draw(const QuestionForm& form) {
  Node node("form", "entry");
  node.set("method", "get").set("action", form.action);
  for (const auto& [name, value] : form.kept)
    node.add(Node("input").set("type", "hidden").set("name", name).set("value", value));
  for (const FormField& field : form.fields) {
    Node label("label");
    label.say(field.caption + " ");
    node.add(std::move(label).add(field.choices.empty() ? input_of(field) : select_of(field)));
  }
  Node button("button");
  return std::move(node).add(std::move(button).set("type", "submit").say(form.button));
}

}  // namespace endgate::reports
