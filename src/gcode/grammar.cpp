// The only file that knows Boost.Spirit X3.
//
// A line is a run of words, comments, a checksum and blanks, or a named command. The grammar only
// recognises; the actions below sort words into commands. Numbers have a primitive of their own:
// fixed point, no exponent ("X1E5" is X1 and E5), and exact, because a mantissa below 2^53 and a
// power of ten up to 10^22 are both exact doubles and their quotient is rounded once (W. D.
// Clinger, How to read floating point numbers accurately, 1990). Longer numbers go to
// std::from_chars.
#include "gcode/grammar.hpp"

#include <boost/spirit/home/x3.hpp>
#include <charconv>
#include <cmath>

namespace platetally::gcode {

namespace {

namespace x3 = boost::spirit::x3;

using Iterator = const char*;

struct Number {
  double value = 0.0;
  std::int32_t whole = 0;      ///< the digits before the point, for command numbers
  std::int32_t fraction = -1;  ///< the digits behind it, -1 without a point
};

constexpr bool is_digit(char c) {
  return c >= '0' && c <= '9';
}
constexpr bool is_blank(char c) {
  return c == ' ' || c == '\t' || c == '\r';
}
constexpr bool is_letter(char c) {
  return (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z');
}
constexpr char upper(char c) {
  return c >= 'a' && c <= 'z' ? static_cast<char>(c - 'a' + 'A') : c;
}

constexpr double kPowersOfTen[] = {1e0,  1e1,  1e2,  1e3,  1e4,  1e5,  1e6,  1e7,
                                   1e8,  1e9,  1e10, 1e11, 1e12, 1e13, 1e14, 1e15,
                                   1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22};
constexpr std::size_t kLongestNumber = 40;

std::int32_t bounded(std::uint64_t digits) {
  return digits > 1'000'000 ? 1'000'000 : static_cast<std::int32_t>(digits);
}

/// The whole number again, blanks dropped, for numbers that are long or cut by blanks.
bool read_slowly(Iterator& first, Iterator last, Number& number) {
  char digits[kLongestNumber + 1];
  std::size_t count = 0;
  bool negative = false;
  Iterator at = first;
  if (at != last && (*at == '+' || *at == '-'))
    negative = *at++ == '-';
  Iterator end = at;
  for (; at != last && (is_digit(*at) || *at == '.' || is_blank(*at)); ++at) {
    if (is_blank(*at))
      continue;
    if (count == kLongestNumber)
      return false;
    digits[count++] = *at;
    end = at + 1;
  }
  double value = 0.0;
  const auto [stop, error] =
      std::from_chars(digits, digits + count, value, std::chars_format::fixed);
  if (error != std::errc() || stop != digits + count || !std::isfinite(value))
    return false;
  number.value = negative ? -value : value;
  number.whole = bounded(static_cast<std::uint64_t>(std::min(std::abs(value), 1e9)));
  number.fraction = -1;
  if (negative)
    number.whole = -number.whole;
  first = end;
  return true;
}

/// A number at `first`. False leaves `first` alone: no number, or a malformed one. `joins`: digits
/// behind blanks go on with it, as the standard has it.
bool read_number(Iterator& first, Iterator last, bool joins, Number& number) {
  Iterator at = first;
  const bool negative = at != last && *at == '-';
  if (at != last && (*at == '-' || *at == '+'))
    ++at;
  std::uint64_t mantissa = 0;
  const Iterator digits_begin = at;
  while (at != last && is_digit(*at))
    mantissa = mantissa * 10 + static_cast<std::uint64_t>(*at++ - '0');
  auto digits = at - digits_begin;
  const std::uint64_t whole = mantissa;
  std::uint64_t behind = 0;
  std::ptrdiff_t decimals = 0;
  const bool has_point = at != last && *at == '.';
  if (has_point) {
    const Iterator point = at++;
    while (at != last && is_digit(*at)) {
      const auto digit = static_cast<std::uint64_t>(*at++ - '0');
      mantissa = mantissa * 10 + digit;
      behind = behind * 10 + digit;
    }
    decimals = at - point - 1;
    digits += decimals;
  }
  Iterator next = at;
  while (joins && next != last && is_blank(*next))
    ++next;
  const bool goes_on = next != last && next != at && (is_digit(*next) || *next == '.');
  if (digits == 0 && !goes_on)
    return false;
  if (goes_on || digits > 18 || mantissa >= (std::uint64_t{1} << 53))
    return read_slowly(first, last, number);
  if (at != last && *at == '.')
    return false;
  const double value = static_cast<double>(mantissa) / kPowersOfTen[decimals];
  number.value = negative ? -value : value;
  number.whole = negative ? -bounded(whole) : bounded(whole);
  number.fraction = has_point && decimals > 0 ? bounded(behind) : -1;
  first = at;
  return true;
}

/// What the actions write to.
struct Building {
  Line& line;
  Iterator begin;
  Command* command = nullptr;

  std::uint32_t column(Iterator at) const { return static_cast<std::uint32_t>(at - begin) + 1; }

  void fault(LineFault what, Iterator at) {
    if (line.fault != LineFault::none)
      return;
    line.fault = what;
    line.fault_column = column(at);
  }

  Command* add(CommandKind kind, Iterator at) {
    if (line.commands == kMostCommands) {
      fault(LineFault::too_many_commands, at);
      return nullptr;
    }
    Command& added = line.command[line.commands++];
    added.kind = kind;
    added.letter = 0;
    added.number = -1;
    added.fraction = -1;
    added.bare_number = false;
    added.column = column(at);
    added.words.mask = 0;
    added.words.bare = 0;
    added.name = {};
    added.text = {};
    command = &added;
    return command;
  }
};

struct BuildingTag;

template <typename Context>
Building& building(const Context& context) {
  return x3::get<BuildingTag>(context).get();
}

/// T selects a tool unless it stands behind a heater, flow or limit word, whose parameter it is.
bool begins_command(const Building& state, char letter) {
  if (letter == 'G' || letter == 'M')
    return true;
  return letter == 'T' && (state.command == nullptr ||
                           (state.command->letter == 'G' && state.command->number != 10));
}

/// Words that are followed by free text.
bool takes_text(const Command& command) {
  if (command.letter != 'M' || command.fraction >= 0)
    return false;
  switch (command.number) {
    case 23:
    case 28:
    case 30:
    case 32:
    case 33:
    case 117:
    case 118:
    case 928:
      return true;
    default:
      return false;
  }
}

void add_word(Building& state, Iterator at, char letter, const Number* number) {
  if (letter == 'N' && state.command == nullptr)
    return;  // line number
  if (begins_command(state, letter)) {
    Command* command = state.add(CommandKind::lettered, at);
    if (command == nullptr)
      return;
    command->letter = letter;
    command->bare_number = number == nullptr;
    if (number != nullptr) {
      command->number = number->whole;
      command->fraction = number->fraction;
    }
    return;
  }
  if (state.command == nullptr && state.add(CommandKind::motionless, at) == nullptr)
    return;
  Words& words = state.command->words;
  const std::uint32_t bit = 1U << Words::index(letter);
  if (((words.mask | words.bare) & bit) != 0)
    state.fault(LineFault::repeated_letter, at);
  if (number != nullptr)
    words.set(letter, number->value);
  else
    words.bare |= bit;
}

/// A letter and, where one follows, its number.
struct WordParser : x3::parser<WordParser> {
  using attribute_type = x3::unused_type;
  static constexpr bool has_attribute = false;

  template <typename Context, typename RuleContext, typename Attribute>
  bool parse(Iterator& first, Iterator last, const Context& context, RuleContext&,
             Attribute&) const {
    if (first == last || !is_letter(*first))
      return false;
    Building& state = building(context);
    const Iterator at = first;
    const char letter = upper(*first);
    Iterator next = first + 1;
    while (next != last && is_blank(*next))
      ++next;
    if (next != last && (is_digit(*next) || *next == '.' || *next == '-' || *next == '+')) {
      Number number;
      // Behind a command's number a text may begin with a digit ("M117 2 trays"): no joining there.
      const bool joins = letter != 'G' && letter != 'M' && letter != 'T';
      if (!read_number(next, last, joins, number)) {
        state.fault(LineFault::malformed_number, next);
        return false;
      }
      add_word(state, at, letter, &number);
      first = next;
      if (state.command != nullptr && takes_text(*state.command))
        take_text(state, first, last);
      return true;
    }
    if (next != last && (*next == '{' || *next == '[')) {
      state.fault(LineFault::placeholder, next);
      return false;
    }
    add_word(state, at, letter, nullptr);
    ++first;
    return true;
  }

  static void take_text(Building& state, Iterator& first, Iterator last) {
    Iterator from = first;
    while (from != last && is_blank(*from))
      ++from;
    Iterator to = last;
    for (Iterator at = from; at != last; ++at) {
      if (*at == ';') {
        to = at;
        break;
      }
    }
    state.command->text = {from, static_cast<std::size_t>(to - from)};
    first = to;
  }
};

/// Two letters or underscores in a row where a line begins: a named command with its parameters.
struct NamedParser : x3::parser<NamedParser> {
  using attribute_type = x3::unused_type;
  static constexpr bool has_attribute = false;

  template <typename Context, typename RuleContext, typename Attribute>
  bool parse(Iterator& first, Iterator last, const Context& context, RuleContext&,
             Attribute&) const {
    const auto in_name = [](char c) { return is_letter(c) || c == '_'; };
    if (last - first < 2 || !in_name(first[0]) || !in_name(first[1]))
      return false;
    Building& state = building(context);
    Iterator end = first;
    while (end != last && (in_name(*end) || is_digit(*end) || *end == '.'))
      ++end;
    if (end != last && !is_blank(*end) && *end != '=' && *end != ';')
      return false;
    Command* command = state.add(CommandKind::named, first);
    command->name = {first, static_cast<std::size_t>(end - first)};
    Iterator stop = end;
    while (stop != last && *stop != ';')
      ++stop;
    while (end != stop && is_blank(*end))
      ++end;
    command->text = {end, static_cast<std::size_t>(stop - end)};
    first = stop;
    return true;
  }
};

void keep_comment(Building& state, std::string_view text) {
  if (state.line.comment.data() == nullptr)
    state.line.comment = text;
}

const auto named = NamedParser{};
const auto word = WordParser{};
const auto blank = x3::omit[+x3::char_(" \t\r")];

/// From ';' to the end.
struct TailComment : x3::parser<TailComment> {
  using attribute_type = x3::unused_type;
  static constexpr bool has_attribute = false;
  template <typename Context, typename RuleContext, typename Attribute>
  bool parse(Iterator& first, Iterator last, const Context& context, RuleContext&,
             Attribute&) const {
    if (first == last || *first != ';')
      return false;
    keep_comment(building(context), {first + 1, static_cast<std::size_t>(last - first - 1)});
    first = last;
    return true;
  }
};

/// '(' to its ')', others in between.
struct NestedComment : x3::parser<NestedComment> {
  using attribute_type = x3::unused_type;
  static constexpr bool has_attribute = false;
  template <typename Context, typename RuleContext, typename Attribute>
  bool parse(Iterator& first, Iterator last, const Context& context, RuleContext&,
             Attribute&) const {
    if (first == last || *first != '(')
      return false;
    Building& state = building(context);
    std::size_t depth = 0;
    for (Iterator at = first; at != last; ++at) {
      depth += *at == '(';
      depth -= *at == ')';
      if (depth == 0) {
        keep_comment(state, {first + 1, static_cast<std::size_t>(at - first - 1)});
        first = at + 1;
        return true;
      }
    }
    state.fault(LineFault::unclosed_comment, first);
    keep_comment(state, {first + 1, static_cast<std::size_t>(last - first - 1)});
    first = last;
    return true;
  }
};

/// '*' and the exclusive or of all bytes before it, in decimal.
struct ChecksumParser : x3::parser<ChecksumParser> {
  using attribute_type = x3::unused_type;
  static constexpr bool has_attribute = false;
  template <typename Context, typename RuleContext, typename Attribute>
  bool parse(Iterator& first, Iterator last, const Context& context, RuleContext&,
             Attribute&) const {
    if (last - first < 2 || *first != '*' || !is_digit(first[1]))
      return false;
    Building& state = building(context);
    unsigned expected = 0;
    for (Iterator at = state.begin; at != first; ++at)
      expected ^= static_cast<unsigned char>(*at);
    unsigned stated = 0;
    Iterator at = first + 1;
    for (; at != last && is_digit(*at); ++at)
      stated = std::min(stated * 10 + static_cast<unsigned>(*at - '0'), 1000U);
    state.line.checksum = stated == expected ? Checksum::right : Checksum::wrong;
    if (stated != expected && state.line.fault == LineFault::none)
      state.line.fault_column = state.column(first);
    first = at;
    return true;
  }
};

/// A quoted text behind a letter: an argument that is no number.
const auto quoted = x3::omit[x3::lit('"') >> *(x3::char_ - '"') >> -x3::lit('"')];

const auto item = word | blank | TailComment{} | NestedComment{} | ChecksumParser{} | quoted;
const auto numbered = x3::omit[x3::char_("Nn") >> +x3::digit >> *blank];
const auto whole_line = x3::omit[*blank >> -(x3::lit('/') >> *blank)] >> -numbered >>
                        ((named >> -TailComment{}) | *item);

}  // namespace

void parse_line(std::string_view text, Line& out) {
  out.commands = 0;
  out.comment = {};
  out.comment_is_alone = false;
  out.checksum = Checksum::absent;
  out.fault = LineFault::none;
  out.fault_column = 0;
  Iterator first = text.data();
  const Iterator last = first + text.size();
  if (first == last || *first == '%')
    return;
  Building state{out, first};
  x3::parse(first, last, x3::with<BuildingTag>(std::ref(state))[whole_line]);
  while (first != last && is_blank(*first))
    ++first;
  if (first != last && out.fault == LineFault::none)
    state.fault(
        *first == '{' || *first == '[' ? LineFault::placeholder : LineFault::stray_character,
        first);
  out.comment_is_alone = out.commands == 0 && out.comment.data() != nullptr;
  if (out.fault == LineFault::malformed_number || out.fault == LineFault::stray_character ||
      out.fault == LineFault::placeholder)
    out.commands = 0;
}

}  // namespace platetally::gcode
