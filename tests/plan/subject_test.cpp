// What holds for every subject.
#include "plan/subject.h"

#include <gtest/gtest.h>

#include <regex>
#include <set>

#include <boost/json/serialize.hpp>

namespace rookery::plan {
namespace {

class EverySubject : public testing::TestWithParam<Subject> {};

TEST_P(EverySubject, ItsFieldsAreWhole) {
  const Subject& subject = GetParam();
  EXPECT_FALSE(subject.title.empty());
  EXPECT_FALSE(subject.question.empty());
  std::set<std::string_view> keys;
  for (const Field& field : subject.fields) {
    SCOPED_TRACE(field.key);
    EXPECT_TRUE(keys.insert(field.key).second);
    EXPECT_FALSE(field.label.empty());
    EXPECT_EQ(field.choices.empty(), field.kind != Kind::choice);
    if (!field.preset.empty()) {
      EXPECT_FALSE(field.why.empty()) << "a preset needs its reason";
    }
    if (field.kind == Kind::choice || field.kind == Kind::words) continue;
    const auto least = read_value(field.least, field.kind, "least");
    const auto most = read_value(field.most, field.kind, "most");
    ASSERT_TRUE(least) << least.error().text();
    ASSERT_TRUE(most) << most.error().text();
    EXPECT_LT(*least, *most);
    if (field.must_be_given()) {
      EXPECT_FALSE(field.example.empty());
    }
  }
}

TEST_P(EverySubject, AnswersItsExampleInFull) {
  const Subject& subject = GetParam();
  const auto planned = plan(subject, example_of(subject));
  ASSERT_TRUE(planned) << planned.error().text();
  const Answer& answer = planned->answer;
  EXPECT_EQ(answer.subject, subject.key);
  EXPECT_FALSE(answer.headline.empty());
  EXPECT_FALSE(answer.headline.ends_with('.'));
  EXPECT_FALSE(answer.figures.empty());
  EXPECT_FALSE(answer.steps.empty());
  EXPECT_TRUE(answer.drawing.starts_with("<svg ")) << answer.drawing.substr(0, 60);
  EXPECT_EQ(answer.drawing.find("style="), std::string::npos) << "the page's policy allows no inline style";
  EXPECT_EQ(answer.drawing.find("nan"), std::string::npos);
  std::set<std::string> keys;
  for (const Figure& figure : answer.figures) {
    EXPECT_TRUE(keys.insert(figure.key).second) << figure.key;
    EXPECT_TRUE(std::isfinite(figure.value)) << figure.key;
  }
  keys.clear();
  for (const Limit& limit : answer.limits) {
    EXPECT_TRUE(keys.insert(limit.key).second) << limit.key;
    EXPECT_TRUE(std::isfinite(limit.value) && std::isfinite(limit.bound)) << limit.key;
    EXPECT_FALSE(limit.source.empty()) << limit.key << ": a bound without a source";
    EXPECT_FALSE(limit.remedy.empty()) << limit.key;
  }
  for (const Step& step : answer.steps) {
    EXPECT_FALSE(step.source.empty()) << step.what << ": a formula without a source";
    EXPECT_FALSE(step.filled.empty()) << step.what;
  }
  for (const Table& table : answer.tables) {
    for (const auto& row : table.rows) EXPECT_EQ(row.size(), table.columns.size()) << table.title;
    if (table.chosen) {
      EXPECT_LT(*table.chosen, table.rows.size());
    }
  }
  const std::string text = to_text(answer, planned->values);
  EXPECT_EQ(text.find("nan"), std::string::npos) << text;
  EXPECT_FALSE(std::regex_search(text, std::regex(" -?inf\\b"))) << text;  // "infinity" is a word
  const auto json = to_json(answer, planned->values);
  EXPECT_EQ(json.at("asked").as_array().size(), planned->values.entries().size());
}

// Whoever follows the advice of an error, the example or the preset is not refused for it.
TEST_P(EverySubject, ItsFieldsTakeWhatTheyAdvise) {
  const Subject& subject = GetParam();
  for (const Field& field : subject.fields) {
    if (field.kind == Kind::choice || field.kind == Kind::words) continue;
    const std::string forms = forms_of(field) + ", ";
    std::vector<std::string> advised;
    for (std::size_t at = 0; at < forms.size(); at = forms.find(", ", at) + 2)
      advised.push_back(forms.substr(at, forms.find(", ", at) - at));
    if (!field.example.empty()) advised.emplace_back(field.example);
    if (!field.preset.empty()) advised.emplace_back(field.preset);
    EXPECT_FALSE(advised.empty()) << field.key;
    for (const std::string& text : advised) {
      const auto values =
          read_values(std::span(&field, 1), std::vector<Given>{{std::string(field.key), text}}, "x");
      EXPECT_TRUE(values) << values.error().text();
    }
  }
}

// Each number by itself at both ends of its range: an answer or a reason, and never a number that is none.
TEST_P(EverySubject, ItsRangesEndsAreAnsweredOrRefusedInWords) {
  const Subject& subject = GetParam();
  for (const Field& field : subject.fields) {
    if (field.least.empty()) continue;
    for (const std::string_view end : {field.least, field.most}) {
      SCOPED_TRACE(std::string(field.key) + " = " + std::string(end));
      std::vector<Given> given = example_of(subject);
      std::erase_if(given, [&](const Given& one) { return one.key == field.key; });
      given.push_back({std::string(field.key), std::string(end)});
      const auto planned = plan(subject, given);
      if (!planned) {
        EXPECT_EQ(planned.error().code, base::ErrorCode::invalid_value);
        EXPECT_FALSE(planned.error().remedy.empty()) << planned.error().text();
        continue;
      }
      for (const Figure& figure : planned->answer.figures)
        EXPECT_TRUE(std::isfinite(figure.value)) << figure.key;
      EXPECT_EQ(planned->answer.drawing.find("nan"), std::string::npos);
    }
  }
}

TEST_P(EverySubject, ItsChoicesAreAllAnswered) {
  const Subject& subject = GetParam();
  for (const Field& field : subject.fields) {
    for (const Choice& choice : field.choices) {
      SCOPED_TRACE(std::string(field.key) + " = " + std::string(choice.key));
      std::vector<Given> given = example_of(subject);
      std::erase_if(given, [&](const Given& one) { return one.key == field.key; });
      given.push_back({std::string(field.key), std::string(choice.key)});
      const auto planned = plan(subject, given);
      if (!planned) {
        EXPECT_FALSE(planned.error().remedy.empty()) << planned.error().text();
      }
    }
  }
}

INSTANTIATE_TEST_SUITE_P(Plan, EverySubject, testing::ValuesIn(subjects().begin(), subjects().end()),
                         [](const auto& info) { return std::string(info.param.key); });

TEST(Subjects, AreFoundByTheirKey) {
  ASSERT_NE(find_subject("wire"), nullptr);
  EXPECT_EQ(find_subject("wires"), nullptr);
}

}  // namespace
}  // namespace rookery::plan
