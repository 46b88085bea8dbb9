// The second of the two files that know Boost.Spirit X3.
//
// The grammar recognises what a comment is made of: words of the trade, numbers with their units,
// durations, and the marks between them. A statement is a run of words, a colon or an equals sign
// or nothing, and values; what its words mean together is decided below the grammar.
#include "reading/gcode/stated.hpp"

#include <algorithm>
#include <boost/spirit/home/x3.hpp>
#include <cmath>
#include <optional>
#include <string>

#include "base/units.hpp"

namespace platetally::gcode {

namespace {

namespace x3 = boost::spirit::x3;

/// Bits, so that a run of words is the union of theirs.
enum Word : std::uint32_t {
  kOther = 0,
  kFilament = 1U << 0U,
  kUsed = 1U << 1U,
  kTotal = 1U << 2U,
  kLayer = 1U << 3U,
  kLayers = 1U << 4U,
  kCount = 1U << 5U,
  kTime = 1U << 6U,
  kPlanned = 1U << 7U,
  kLength = 1U << 8U,
  kMass = 1U << 9U,
  kVolume = 1U << 10U,
  kTool = 1U << 11U,
  kNumber = 1U << 12U,           ///< "layer number: 5" is of one layer, "layer count: 5" of all
  kOfSomethingElse = 1U << 13U,  ///< the statement is of no interest
};

/// What a unit is worth as each quantity; 0: it is none of it.
struct Unit {
  double mm = 0.0, cm3 = 0.0, g = 0.0, s = 0.0;
  bool is_none() const { return mm == 0.0 && cm3 == 0.0 && g == 0.0 && s == 0.0; }
};

struct Words : x3::symbols<std::uint32_t> {
  Words() {
    const auto all = [this](std::uint32_t meaning, std::initializer_list<const char*> words) {
      for (const char* word : words)
        add(word, meaning);
    };
    all(kFilament, {"filament", "filaments", "material", "plastic"});
    all(kUsed, {"used", "use", "usage", "uses", "needed", "required", "consumed", "consumption",
                "extruded"});
    all(kTotal, {"total", "totals", "overall", "sum", "all"});
    all(kLayer, {"layer"});
    all(kLayers, {"layers"});
    all(kCount, {"count", "amount"});
    all(kNumber, {"number", "num"});
    all(kTime, {"time", "duration"});
    all(kPlanned, {"estimated", "estimate", "predicted", "expected", "print", "printing", "build",
                   "job", "machine", "run"});
    all(kLength, {"length"});
    all(kMass, {"weight", "mass"});
    all(kVolume, {"volume"});
    all(kTool, {"tool", "extruder", "head", "nozzle"});
    all(kOfSomethingElse,
        {"height",    "width",       "thickness", "cost",    "price",      "diameter",  "density",
         "type",      "types",       "colour",    "color",   "elapsed",    "remaining", "left",
         "first",     "temperature", "speed",     "top",     "bottom",     "solid",     "change",
         "changes",   "loading",     "load",      "unload",  "unloading",  "per",       "cooling",
         "minimum",   "maximum",     "min",       "max",     "raft",       "support",   "purge",
         "purged",    "waste",       "wasted",    "tower",   "skirt",      "brim",      "start",
         "end",       "feed",        "flow",      "before",  "after",      "fan",       "slow",
         "slowdown",  "until",       "wait",      "retract", "retraction", "current",   "now",
         "date",      "created",     "generated", "every",   "each",       "path",      "move",
         "name",      "id",          "brand",     "maker",   "settings",   "profile",   "notes",
         "shrinkage", "travel"});
  }
};
const Words kWords;

struct Units : x3::symbols<Unit> {
  Units() {
    const auto all = [this](const Unit& unit, std::initializer_list<const char*> names) {
      for (const char* name : names)
        add(name, unit);
    };
    all({.mm = 1.0}, {"mm", "millimetres", "millimeters"});
    all({.mm = base::kMmPerCm}, {"cm", "centimetres", "centimeters"});
    all({.mm = base::kMmPerM, .s = base::kSecondsPerMinute}, {"m"});  // a metre, or a minute
    all({.mm = base::kMmPerM}, {"metres", "meters", "metre", "meter"});
    all({.cm3 = 1.0}, {"cm3", "cm^3", "ml", "ccm", "cc"});
    all({.cm3 = 1.0 / base::kMm3PerCm3}, {"mm3", "mm^3"});
    all({.g = 1.0}, {"g", "gram", "grams", "gramme", "grammes"});
    all({.g = base::kGPerKg}, {"kg"});
    all({.s = 1.0}, {"s", "sec", "secs", "second", "seconds"});
    all({.s = base::kSecondsPerMinute}, {"min", "mins", "minute", "minutes"});
    all({.s = base::kSecondsPerHour}, {"h", "hr", "hrs", "hour", "hours"});
    all({.s = base::kSecondsPerDay}, {"d", "day", "days"});
  }
};
const Units kUnits;

/// What the actions below collect.
struct Item {
  enum class Kind : std::uint8_t { word, number, clock, colon, other } kind = Kind::other;
  std::uint32_t word = kOther;
  int tool = -1;  ///< of "T3"
  double value = 0.0;
  Unit unit{};
};
constexpr double kMostValue = 1e15;  // beyond all that a plate can state
struct ItemsTag;
using Items = std::vector<Item>;

template <typename Context>
Items& items_of(const Context& context) {
  return x3::get<ItemsTag>(context).get();
}

constexpr auto put = [](Item::Kind kind) {
  return [kind](auto& context) { items_of(context).push_back({.kind = kind}); };
};

const auto digit = x3::char_('0', '9');  // x3::digit may abort at bytes that are not ASCII
const auto blanks = x3::omit[*x3::char_(" \t\r")];
const auto in_word = x3::char_("a-z~");
const auto unit_end = !(in_word | digit);
const auto unit_name = kUnits >> unit_end;

/// Digits with a point or a decimal comma; a comma behind a point, or in front of a blank, parts
/// two numbers.
const auto digits = +digit;
const auto number_text =
    x3::raw[(digits >> -((x3::lit('.') >> *digit) | (x3::lit(',') >> digits))) |
            (x3::lit('.') >> digits)];

const auto put_number = [](auto& context) {
  const auto& range = x3::_attr(context);
  double value = 0.0, place = 0.0;
  for (const char c : range) {
    if (c == '.' || c == ',') {
      place = 1.0;
      continue;
    }
    place /= 10.0;
    value = place > 0.0 ? value + (c - '0') * place : value * 10.0 + (c - '0');
  }
  items_of(context).push_back({.kind = Item::Kind::number, .value = std::min(value, kMostValue)});
};
const auto set_unit = [](auto& context) { items_of(context).back().unit = x3::_attr(context); };
const auto number = number_text[put_number] >> -(blanks >> unit_name[set_unit]);

const auto put_clock = [](auto& context) {
  namespace fusion = boost::fusion;
  const auto& parts = x3::_attr(context);
  Item item{.kind = Item::Kind::clock};
  item.value = base::kSecondsPerHour * fusion::at_c<0>(parts) +
               base::kSecondsPerMinute * fusion::at_c<1>(parts) + fusion::at_c<2>(parts);
  items_of(context).push_back(item);
};
const auto two_digits = x3::uint_parser<unsigned, 10, 2, 2>{};
const auto hours = x3::uint_parser<unsigned, 10, 1, 4>{};
const auto clock = (hours >> ':' >> two_digits >> ':' >> two_digits >> !digit)[put_clock];

const auto put_tool = [](auto& context) {
  items_of(context).push_back(
      {.kind = Item::Kind::word, .word = kTool, .tool = static_cast<int>(x3::_attr(context))});
};
const auto tool = (x3::lit('t') >> x3::uint_parser<unsigned, 10, 1, 2>{} >> unit_end)[put_tool];

const auto put_word = [](auto& context) {
  items_of(context).push_back({.kind = Item::Kind::word, .word = x3::_attr(context)});
};
const auto known_word = (kWords >> !in_word)[put_word];
const auto other_word = x3::omit[+in_word][put(Item::Kind::word)];

/// The unit of the numbers to come: "[mm]", and "filament_used_g=12".
const auto put_unit_of_all = [](auto& context) {
  items_of(context).push_back({.kind = Item::Kind::word, .unit = x3::_attr(context)});
};
const auto unit_word = unit_name[put_unit_of_all] >> &(blanks >> x3::char_(":="));
const auto in_brackets =
    (x3::char_("[(") >> blanks >> unit_name[put_unit_of_all] >> blanks >> x3::char_("])"));

const auto any_item = x3::omit[x3::char_(" \t\r_")] | x3::lit('-') | in_brackets | clock |
                      unit_word | tool | number | known_word | other_word |
                      x3::omit[x3::char_(":=")][put(Item::Kind::colon)] |
                      x3::omit[x3::char_][put(Item::Kind::other)];

constexpr std::size_t kMostOtherWords = 4;  // assumed: more make a sentence about something else
constexpr std::size_t kMostValues = 32;     // a value a tool: as many as a machine may have

/// The words of a statement together, and what follows them.
struct Sentence {
  std::uint32_t words = 0;
  std::size_t other_words = 0;
  int tool = -1;
  Unit unit;
  std::vector<Item> values;

  bool has(std::uint32_t any) const { return (words & any) != 0; }
};

std::optional<double> as_duration(const Sentence& sentence) {
  if (sentence.values.size() == 1 && sentence.values.front().kind == Item::Kind::clock)
    return sentence.values.front().value;
  double sum_s = 0.0;
  for (const Item& value : sentence.values) {
    const Unit& unit = value.unit.is_none() ? sentence.unit : value.unit;
    const bool bare_seconds = unit.is_none() && sentence.values.size() == 1;
    if (value.kind != Item::Kind::number || (unit.s == 0.0 && !bare_seconds))
      return std::nullopt;
    sum_s += value.value * (bare_seconds ? 1.0 : unit.s);
  }
  return sum_s;
}

void add_time(const Sentence& sentence, std::vector<Statement>& out) {
  if (const auto time_s = as_duration(sentence))
    out.push_back({Quantity::time_s, {*time_s}, -1, sentence.has(kTotal)});
}

void add_layers(const Sentence& sentence, std::vector<Statement>& out) {
  const Item& value = sentence.values.front();
  if (sentence.values.size() == 1 && value.kind == Item::Kind::number && value.unit.is_none() &&
      value.value == std::floor(value.value))
    out.push_back({Quantity::layers, {value.value}, -1, sentence.has(kTotal)});
}

/// The unit of a number, by what stands behind it, in brackets, or by the words.
std::optional<Quantity> quantity_of(const Item& value, const Sentence& sentence, double& worth) {
  const Unit& unit = value.unit.is_none() ? sentence.unit : value.unit;
  const bool by_words = unit.is_none();
  if (unit.mm != 0.0 || (by_words && sentence.has(kLength))) {
    worth = by_words ? 1.0 : unit.mm;
    return Quantity::length_mm;
  }
  if (unit.cm3 != 0.0 || (by_words && sentence.has(kVolume))) {
    worth = by_words ? 1.0 : unit.cm3;
    return Quantity::volume_cm3;
  }
  if (unit.g != 0.0 || (by_words && sentence.has(kMass))) {
    worth = by_words ? 1.0 : unit.g;
    return Quantity::mass_g;
  }
  return std::nullopt;
}

/// "12.3 m, 4.5 m" is a value a tool, "12.3 m (36.7 g)" one value as two quantities.
void add_filament(const Sentence& sentence, std::vector<Statement>& out) {
  std::vector<Statement> found;
  for (const Item& value : sentence.values) {
    double worth = 0.0;
    const auto quantity =
        value.kind == Item::Kind::number ? quantity_of(value, sentence, worth) : std::nullopt;
    if (!quantity)
      return;
    const auto known = std::find_if(found.begin(), found.end(), [&](const Statement& statement) {
      return statement.quantity == *quantity;
    });
    if (known == found.end())
      found.push_back({*quantity, {value.value * worth}, sentence.tool, sentence.has(kTotal)});
    else
      known->values.push_back(value.value * worth);
  }
  out.insert(out.end(), found.begin(), found.end());
}

void add_statement(const Sentence& sentence, std::vector<Statement>& out) {
  if (sentence.values.empty() || sentence.has(kOfSomethingElse) ||
      sentence.other_words > kMostOtherWords || sentence.values.size() > kMostValues)
    return;
  if (sentence.has(kFilament)) {
    if (sentence.has(kUsed | kTotal | kLength | kMass | kVolume) &&
        !sentence.has(kTime | kLayer | kLayers | kCount | kNumber))
      add_filament(sentence, out);
  } else if (sentence.has(kTime)) {
    const bool is_bare = sentence.words == kTime && sentence.other_words == 0;
    if ((sentence.has(kPlanned | kTotal) || is_bare) && !sentence.has(kLayer | kLayers))
      add_time(sentence, out);
  } else if (sentence.has(kLayer | kLayers)) {
    const bool is_bare = sentence.words == kLayers && sentence.other_words == 0;
    const bool is_number = sentence.has(kLayers) && sentence.has(kNumber);
    if (is_bare || is_number || sentence.has(kTotal | kCount))
      add_layers(sentence, out);
  }
}

void add_word(const Item& item, Sentence& sentence) {
  sentence.words |= item.word;
  sentence.other_words += item.word == kOther && item.unit.is_none() ? 1U : 0U;
  if (item.tool >= 0)
    sentence.tool = item.tool;
  if (!item.unit.is_none())
    sentence.unit = item.unit;
}

/// Which tool the words have just named: the 1 of "filament used, extruder 1: 12 mm".
bool is_tool_number(const Item& item, const Sentence& sentence) {
  constexpr double kMostTools = 100.0;
  return item.kind == Item::Kind::number && item.unit.is_none() && item.value < kMostTools &&
         sentence.has(kTool) && sentence.tool < 0 && sentence.values.empty();
}

/// Small letters of ASCII, every other byte of a character a '~', the exponent of cm3 a figure.
std::string plain(std::string_view text) {
  std::string out;
  for (std::size_t i = 0; i < text.size(); ++i) {
    const auto byte = static_cast<unsigned char>(text[i]);
    const bool cubed = text.substr(i).starts_with("\xC2\xB3");
    if (cubed)
      ++i;
    out += cubed          ? '3'
           : byte >= 0x80 ? '~'
                          : static_cast<char>(byte >= 'A' && byte <= 'Z' ? byte | 0x20U : byte);
  }
  return out;
}

}  // namespace

std::vector<Statement> read_statements(std::string_view comment) {
  std::vector<Statement> out;
  comment = comment.substr(0, kMostStatedBytes);
  while (!comment.empty()) {
    const std::string_view written = comment.substr(0, comment.find(';'));
    comment.remove_prefix(std::min(written.size() + 1, comment.size()));
    const std::string part = plain(written);
    Items items;
    auto first = part.begin();
    x3::parse(first, part.end(), x3::with<ItemsTag>(std::ref(items))[*any_item]);
    Sentence sentence;
    for (std::size_t i = 0; i < items.size(); ++i) {
      const Item& one = items[i];
      const bool before_colon = i + 1 < items.size() && items[i + 1].kind == Item::Kind::colon;
      if (before_colon && is_tool_number(one, sentence)) {
        sentence.tool = static_cast<int>(one.value);
      } else if (one.kind == Item::Kind::number || one.kind == Item::Kind::clock) {
        sentence.values.push_back(one);
      } else if (one.kind == Item::Kind::word) {
        if (!sentence.values.empty() && one.word != kOther) {
          add_statement(sentence, out);
          sentence = {};
        }
        if (sentence.values.empty())
          add_word(one, sentence);
      }
    }
    add_statement(sentence, out);
  }
  return out;
}

}  // namespace platetally::gcode
