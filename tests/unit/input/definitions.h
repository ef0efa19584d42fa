#pragma once
/// A definition that holds every kind of field, for the tests of the reader, the schema and the reference.

#include <memory>
#include <string>
#include <vector>

#include "tileflux/input/definition.h"

namespace tileflux::input::samples {

inline QuantityType length() { return {{"m"}, {.least = 0.0, .most = 1.0, .least_excluded = true}}; }
inline QuantityType temperature() { return {{"K"}, {.least = 0.0}}; }

inline std::shared_ptr<const Section> layer() {
  Section section;
  section.title = "A layer";
  section.meaning = "One layer of the stack.";
  section.fields = {
      {"name", NameType{}, "What others call it.", true, {}},
      {"thickness", length(), "Measured across the layer.", true, {}},
      {"finish", NameType{}, "Of the outer face.", false, {}},
      {"nodes", CountType{1, 20}, "Nodes across it.", false, "1"},
  };
  return std::make_shared<const Section>(std::move(section));
}

inline std::shared_ptr<const Section> sun() {
  Section section;
  section.title = "The sun";
  section.meaning = "Where the light comes from.";
  section.fields = {
      {"distance", QuantityType{{"m"}, {.least = 1e9}}, "From the sun.", true, {}},
      {"tilt", QuantityType{{"rad"}, {.least = 0.0, .most = 1.6}}, "Between normal and sun.", false, "0 deg"},
  };
  return std::make_shared<const Section>(std::move(section));
}

inline std::shared_ptr<const Section> limit() {
  Section section;
  section.title = "A limit";
  section.meaning = "What a part may bear.";
  section.fields = {
      {"below", temperature(), "Upper limit.", false, {}},
      {"above", temperature(), "Lower limit.", false, {}},
      {"hysteresis", QuantityType{{"K", units::Kind::difference}, {.least = 0.0}}, "Between trip and reset.", false,
       "5 K"},
  };
  section.at_most_one_of = {{"below", "above"}};
  return std::make_shared<const Section>(std::move(section));
}

inline Section every_field() {
  Section section;
  section.title = "The case";
  section.meaning = "The whole file.";
  section.fields = {
      {"tileflux", CountType{1, 1}, "Version of the format.", true, {}},
      {"title", TextType{20}, "For people.", false, {}},
      {"efficiency", QuantityType{{"1"}, {.least = 0.0, .most = 1.0}}, "Of the cells.", false, "30 %"},
      {"life", ChoiceType{{"begin", "end"}}, "Begin or end | of life.", false, "end"},
      {"massless", FlagType{}, "No heat capacity.", false, "no"},
      {"part", NameType{.dotted = true}, "Of which part.", false, {}},
      {"widths", QuantityListType{length(), 2, 4}, "Of the strips.", false, {}},
      {"between", NameListType{NameType{}, 2, 2}, "The two parts.", false, {}},
      {"conductivity",
       TableType{{temperature(), QuantityType{{"W/(m K)"}, {.least = 0.0}}}},
       "Over temperature.",
       false,
       {}},
      {"sun", SectionType{sun()}, "The sun.", false, {}},
      {"stack", SectionType{layer(), SectionType::Shape::list, 3}, "Layers, sun side first.", false, {}},
      {"limits", SectionType{limit(), SectionType::Shape::by_name, 5, NameType{.dotted = true}}, "By part.", false, {}},
      {"mass", QuantityType{{"kg"}, {.least = 0.0}}, "Of it.", false, {}},
      {"heat_capacity", QuantityType{{"J/K"}, {.least = 0.0}}, "Instead of mass.", false, {}},
      {"period", QuantityType{{"s"}, {.least = 0.0, .least_excluded = true}}, "With on.", false, {}},
      {"on", QuantityType{{"s"}, {.least = 0.0}}, "With period.", false, {}},
  };
  section.at_most_one_of = {{"mass", "heat_capacity"}};
  section.together = {{"on", "period"}};
  return section;
}

}  // namespace tileflux::input::samples
