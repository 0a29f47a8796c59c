#include "plan/subject.h"

#include <algorithm>
#include <array>

namespace rookery::plan {

std::span<const Subject> subjects() {
  static const std::array kAll = {
      supply_subject(), wire_subject(), capacitor_subject(), battery_subject(), radio_subject(),
      usb_subject(),    view_subject(), disk_subject(),      cost_subject(),
  };
  return kAll;
}

const Subject* find_subject(std::string_view key) {
  const auto all = subjects();
  const auto at =
      std::find_if(all.begin(), all.end(), [&](const Subject& subject) { return subject.key == key; });
  return at == all.end() ? nullptr : &*at;
}

base::Result<Planned> plan(const Subject& subject, std::span<const Given> given,
                           std::vector<base::Error>* all) {
  auto values = read_values(subject.fields, given, std::string(subject.key), all);
  if (!values) return values.error();
  auto answer = subject.answer(*values);
  if (!answer) {
    if (all != nullptr) all->push_back(answer.error());
    return answer.error();
  }
  answer->subject = subject.key;
  return Planned{std::move(*values), std::move(*answer)};
}

std::vector<Given> example_of(const Subject& subject) {
  std::vector<Given> out;
  for (const Field& field : subject.fields) {
    if (!field.must_be_given()) continue;
    const std::string_view text =
        field.kind == Kind::choice ? field.choices.front().key : std::string_view(field.example);
    out.push_back({std::string(field.key), std::string(text)});
  }
  return out;
}

}  // namespace rookery::plan
