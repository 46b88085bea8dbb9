// The only file that knows Boost.Spirit X3.
//
// A line is a run of words, comments, a checksum and blanks, or a named command. The grammar only
// recognises; the actions below sort words into commands. Words have two primitives: WordRun takes
// as many plain ones as there are ("G1 X10 Y-2.5"), in one loop and without looking for the end of
// the line first, which is nearly all of nearly every plate; what it stops at (a bare letter, a
// fraction, blanks inside a number, a fault) is left to WordParser, which says the same of plain
// words and decides all the others.
#include "gcode/grammar.hpp"

#include <boost/spirit/home/x3.hpp>
#include <cstring>
#include <functional>

#include "gcode/number.hpp"

namespace platetally::gcode {

namespace {

namespace x3 = boost::spirit::x3;

/// What the actions write to.
struct Building {
  Line& line;
  Iterator begin;
  Command* command = nullptr;
  bool numbered = false;   ///< the run met a line number
  bool overflows = false;  ///< more commands than fit: what follows is left out

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
      overflows = true;
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
bool takes_text(char letter, std::int32_t number, std::int32_t fraction) {
  if (letter != 'M' || fraction >= 0)
    return false;
  switch (number) {
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
  if (state.overflows || (letter == 'N' && state.command == nullptr))
    return;  // the latter is a line number
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

Iterator end_of_line(Iterator first, Iterator last) {
  const auto* end =
      static_cast<Iterator>(std::memchr(first, '\n', static_cast<std::size_t>(last - first)));
  return end == nullptr ? last : end;
}

/// The text behind such a word, up to a comment or the end of the line.
void take_text(Building& state, Iterator& first, Iterator last) {
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

constexpr unsigned kLetters = 26;

/// 0 for A and a; kLetters or more for what is no letter.
constexpr unsigned letter_index(char c) {
  return static_cast<unsigned char>(c) < 'A' ? kLetters
                                             : static_cast<unsigned char>((c | 0x20) - 'a');
}

/// Text that ends with a line end, which no word goes over: loops need not look for `last`.
struct LineEndAhead {
  static constexpr bool reached(Iterator) { return false; }
};
struct Bounded {
  Iterator last;
  bool reached(Iterator at) const { return at == last; }
};

/// Whether the number in front of `at` is over: digits behind blanks would go on with it, and a
/// second point is a fault.
template <typename End>
bool ends_number(Iterator at, const End& end) {
  if (*at == ' ') {
    ++at;
    return end.reached(at) || *at > '9' || !(is_digit(*at) || *at == '.' || is_blank(*at));
  }
  if (*at > '9' || *at == '\n')
    return true;
  if (*at == '\r')
    return !end.reached(at + 1) && at[1] == '\n';
  return *at != '.' && *at != '\t';
}

/// A plain number: sign, digits, at most one point; no more digits than an exact double holds.
struct PlainNumber {
  std::uint64_t mantissa = 0;
  std::ptrdiff_t whole_digits = 0;
  std::ptrdiff_t decimals = 0;
  bool negative = false;
  bool has_point = false;

  double value() const {
    const double unsigned_value =
        static_cast<double>(static_cast<std::int64_t>(mantissa)) / kPowersOfTen[decimals];
    return negative ? -unsigned_value : unsigned_value;
  }
};

/// Reads on behind a letter; false where there are no digits or too many.
template <typename End>
bool read_plain_number(Iterator& next, const End& end, PlainNumber& number) {
  constexpr std::ptrdiff_t kPlainDigits = 15;  // every such mantissa is an exact double
  if (!end.reached(next) && *next == '-') {
    number.negative = true;
    ++next;
  }
  const Iterator digits = next;
  std::uint64_t mantissa = 0;
  while (!end.reached(next) && is_digit(*next))
    mantissa = mantissa * 10 + static_cast<std::uint64_t>(*next++ - '0');
  number.whole_digits = next - digits;
  std::ptrdiff_t count = number.whole_digits;
  if (!end.reached(next) && *next == '.') {
    number.has_point = true;
    const Iterator point = ++next;
    while (!end.reached(next) && is_digit(*next))
      mantissa = mantissa * 10 + static_cast<std::uint64_t>(*next++ - '0');
    number.decimals = next - point;
    count += number.decimals;
  }
  number.mantissa = mantissa;
  return count > 0 && count <= kPlainDigits;
}

/// The command that a plain word begins; nothing where its words are followed by text, or there is
/// no more room.
Command* add_plain_command(Building& state, Iterator at, unsigned index, std::uint64_t number) {
  const char letter = static_cast<char>('A' + index);
  if (state.line.commands == kMostCommands ||
      takes_text(letter, static_cast<std::int32_t>(number), -1))
    return nullptr;
  Command* const command = state.add(CommandKind::lettered, at);
  command->letter = letter;
  command->number = static_cast<std::int32_t>(number);
  return command;
}

/// Plain words from `first` on, each a letter with a short number right behind it. Stops in front
/// of the first that is not, and has then done nothing with it.
template <typename End>
void read_plain_words(Iterator& first, const End& end, Building& state) {
  constexpr std::uint32_t kCommandLetters =
      1U << ('G' - 'A') | 1U << ('M' - 'A') | 1U << ('T' - 'A');
  constexpr std::ptrdiff_t kCommandDigits = 6;
  Iterator at = first;
  while (!end.reached(at) && *at == ' ')
    ++at;
  Words* words = nullptr;  // of the command in work, and its mask
  std::uint32_t mask = 0;
  for (;;) {
    first = at;
    if (end.reached(at))
      return;
    const unsigned index = letter_index(*at);
    if (index >= kLetters)
      return;
    Iterator next = at + 1;
    PlainNumber number;
    if (!read_plain_number(next, end, number))
      return;
    if (((kCommandLetters >> index) & 1U) != 0 &&
        begins_command(state, static_cast<char>('A' + index))) {
      if (number.negative || number.has_point || number.whole_digits > kCommandDigits)
        return;
      Command* const command = add_plain_command(state, at, index, number.mantissa);
      if (command == nullptr)
        return;
      words = &command->words;
      mask = 0;
    } else {
      if (!end.reached(next) && !ends_number(next, end))
        return;
      if (words == nullptr) [[unlikely]] {
        if (index == 'N' - 'A') {
          if (state.numbered || number.negative || number.has_point)
            return;
          state.numbered = true;
        } else {
          words = &state.add(CommandKind::motionless, at)->words;
        }
      }
      if (words != nullptr) [[likely]] {
        const std::uint32_t bit = 1U << index;
        if ((mask & bit) != 0)
          return;
        mask |= bit;
        words->value[index] = number.value();
        words->mask = mask;
      }
    }
    while (!end.reached(next) && *next == ' ')
      ++next;
    at = next;
  }
}

/// A run of plain words.
struct WordRun : x3::parser<WordRun> {
  using attribute_type = x3::unused_type;
  static constexpr bool has_attribute = false;

  template <typename Context, typename RuleContext, typename Attribute>
  bool parse(Iterator& first, Iterator last, const Context& context, RuleContext&,
             Attribute&) const {
    Building& state = building(context);
    if (first != last && last[-1] == '\n')
      read_plain_words(first, LineEndAhead{}, state);
    else
      read_plain_words(first, Bounded{last}, state);
    return true;
  }
};

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
      const Command* command = state.command;
      if (command != nullptr && takes_text(command->letter, command->number, command->fraction))
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
const auto items = *item;
const auto numbered = x3::omit[x3::char_("Nn") >> +x3::digit >> *blank];
const auto numbered_line = (named >> -TailComment{}) | items;
const auto whole_line = x3::omit[*blank >> -(x3::lit('/') >> *blank)] >> -numbered >> numbered_line;
const auto run = WordRun{};

void clear(Line& line) {
  line.commands = 0;
  line.comment = {};
  line.comment_is_alone = false;
  line.checksum = Checksum::absent;
  line.fault = LineFault::none;
  line.fault_column = 0;
}

/// What the run of plain words stopped at, up to the end of the line. Apart, so that plain lines do
/// not pay for its registers.
[[gnu::noinline]] void parse_rest(Iterator first, Iterator last, Building state) {
  if (last != first && last[-1] == '\r')
    --last;
  const auto in_context = [&state](const auto& rule) {
    return x3::with<BuildingTag>(std::ref(state))[rule];
  };
  if (state.command != nullptr)
    x3::parse(first, last, in_context(items));
  else if (state.numbered)
    x3::parse(first, last, in_context(numbered_line));
  else
    x3::parse(first, last, in_context(whole_line));
  while (first != last && is_blank(*first))
    ++first;
  Line& line = state.line;
  if (first != last && line.fault == LineFault::none)
    state.fault(
        *first == '{' || *first == '[' ? LineFault::placeholder : LineFault::stray_character,
        first);
  line.comment_is_alone = line.commands == 0 && line.comment.data() != nullptr;
  if (line.fault == LineFault::malformed_number || line.fault == LineFault::stray_character ||
      line.fault == LineFault::placeholder)
    line.commands = 0;
}

}  // namespace

const char* parse_line(const char* first, const char* last, Line& out) {
  clear(out);
  Building state{out, first};
  if (first != last && *first == '%')
    first = end_of_line(first, last);
  x3::parse(first, last, x3::with<BuildingTag>(std::ref(state))[run]);
  if (first == last)
    return last;
  if (*first == '\n')
    return first + 1;
  if (*first == '\r' && last - first > 1 && first[1] == '\n')
    return first + 2;
  const Iterator end = end_of_line(first, last);
  parse_rest(first, end, state);
  return end == last ? last : end + 1;
}

void parse_line(std::string_view text, Line& out) {
  parse_line(text.data(), text.data() + text.size(), out);
}

void parse_line_word_by_word(std::string_view text, Line& out) {
  clear(out);
  if (text.starts_with('%'))
    return;
  parse_rest(text.data(), text.data() + text.size(), {out, text.data()});
}

}  // namespace platetally::gcode
