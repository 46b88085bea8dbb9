// One of the two files that know Boost.Spirit X3; the other is stated.cpp.
//
// A line is a run of words, comments, a checksum and blanks, or a named command. The grammar only
// recognises; the functions above it sort words into commands. Words are read twice over:
// read_run() takes as many plain ones as there are (plain_words.hpp); what it stops at (a bare
// letter, a fraction, blanks inside a number, a fault) is left to read_word(), which says the same
// of plain words and decides all the others.
#include "reading/gcode/grammar.hpp"

#include <algorithm>
#include <boost/spirit/home/x3.hpp>
#include <charconv>
#include <cmath>
#include <cstring>
#include <functional>

#include "reading/gcode/building.hpp"
#include "reading/gcode/number.hpp"
#include "reading/gcode/plain_words.hpp"

namespace platetally::gcode {

namespace {

namespace x3 = boost::spirit::x3;

constexpr double kMostValue = 1e18;           // beyond all that any word can mean
constexpr std::ptrdiff_t kMostDecimals = 15;  // more are below a double's last digit

struct BuildingTag;

/// The number that begins right behind a letter somewhere before `end` and ends there; nothing
/// where no letter stands before it.
struct GluedNumber {
  Iterator letter = nullptr;
  Iterator digits = nullptr;  ///< of it, or its sign
};
GluedNumber number_before(Iterator begin, Iterator end) {
  Iterator at = end;
  while (at != begin && (is_digit(at[-1]) || at[-1] == '.'))
    --at;
  if (at == end)
    return {};
  if (at != begin && (at[-1] == '-' || at[-1] == '+'))
    --at;
  if (at == begin || !is_letter(at[-1]))
    return {};
  return {at - 1, at};
}

/// Where the whole exponent behind the letter at `at` ends; null where there is none.
Iterator end_of_exponent(Iterator at, Iterator last) {
  Iterator digits = at + 1;
  if (digits != last && (*digits == '-' || *digits == '+'))
    ++digits;
  Iterator end = digits;
  while (end != last && is_digit(*end))
    ++end;
  return end == digits || (end != last && *end == '.') ? nullptr : end;
}

/// Reads "2.4e-15" between the two into the word of that letter; false where it is too large.
bool set_with_exponent(Building& state, const GluedNumber& glued, Iterator exponent, Iterator end) {
  Iterator first = glued.digits;
  if (*first == '+')
    ++first;
  double value = 0.0;
  const auto [stop, error] = std::from_chars(first, end, value, std::chars_format::scientific);
  const bool is_tiny = error == std::errc::result_out_of_range && exponent[1] == '-';
  if (stop != end || (error != std::errc() && !is_tiny) || !(std::abs(value) < kMostValue))
    return false;
  state.command->words.set(upper(*glued.letter), value);
  state.fault(LineFault::exponent, exponent);
  return true;
}

/// A second E right behind the digits of an E can only be an exponent: programs that print their
/// rounding errors write "E2.4e-15". False where that is not what stands at `first`.
bool read_exponent(Building& state, Iterator& first, Iterator last) {
  if (state.command == nullptr || !state.command->words.has('E') || state.overflows)
    return false;
  const GluedNumber glued = number_before(state.begin, first);
  const Iterator end = end_of_exponent(first, last);
  if (glued.letter == nullptr || upper(*glued.letter) != 'E' || end == nullptr ||
      !set_with_exponent(state, glued, first, end))
    return false;
  first = end;
  return true;
}

/// "X1e-15 Y2 E5" has two E words, of which the first is an exponent, where a sign or a small
/// letter says so.
void take_earlier_exponent(Building& state, Iterator at) {
  for (Iterator e = state.begin + state.command->column; e < at; ++e) {
    if (upper(*e) != 'E' || (*e == 'E' && e[1] != '-' && e[1] != '+'))
      continue;
    const GluedNumber glued = number_before(state.begin, e);
    const Iterator end = end_of_exponent(e, at);
    if (glued.letter != nullptr && upper(*glued.letter) != 'E' && end != nullptr &&
        state.command->words.has(upper(*glued.letter)) && set_with_exponent(state, glued, e, end)) {
      state.command->words.mask &= ~(1U << Words::index('E'));
      return;
    }
  }
}

void add_word(Building& state, Iterator at, char letter, const Number* number) {
  if (state.overflows || (letter == 'N' && state.command == nullptr))
    return;  // the latter is a line number
  if (begins_command(state, letter, at, number == nullptr)) {
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
  if (letter == 'E' && number != nullptr && words.has('E'))
    take_earlier_exponent(state, at);
  if (((words.mask | words.bare) & bit) != 0 && has_letters_that_count(*state.command))
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

/// "5400,25", as some programs write it under a locale of theirs.
void read_decimals_behind_comma(Building& state, Iterator letter, Iterator& comma, Iterator last,
                                Number& number) {
  if (last - comma < 2 || !is_digit(comma[1]) || std::find(letter, comma, '.') != comma)
    return;
  Iterator end = comma + 1;
  double decimals = 0.0, place = 1.0;
  for (; end != last && is_digit(*end); ++end) {
    if (end - comma > kMostDecimals)
      continue;
    decimals = decimals * 10.0 + (*end - '0');
    place *= 10.0;
  }
  const bool negative = std::find(letter, comma, '-') != comma;
  number.value += (negative ? -decimals : decimals) / place;
  state.fault(LineFault::decimal_comma, comma);
  comma = end;
}

/// A run of plain words.
void read_run(Building& state, Iterator& first, Iterator last) {
  if (first != last && last[-1] == '\n')
    read_plain_words(first, LineEndAhead{}, state);
  else
    read_plain_words(first, Bounded{last}, state);
}

/// A letter and, where one follows, its number.
bool read_word(Building& state, Iterator& first, Iterator last) {
  if (first == last || !is_letter(*first))
    return false;
  const Iterator at = first;
  const char letter = upper(*first);
  if (letter == 'E' && read_exponent(state, first, last))
    return true;
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
    if (next != last && *next == ',')
      read_decimals_behind_comma(state, at, next, last, number);
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

/// Two letters or underscores in a row where a line begins: a named command with its parameters.
bool read_named(Building& state, Iterator& first, Iterator last) {
  const auto in_name = [](char c) { return is_letter(c) || c == '_'; };
  if (last - first < 2 || !in_name(first[0]) || !in_name(first[1]))
    return false;
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

void clear_fault(Line& line) {
  line.fault = LineFault::none;
  line.fault_column = 0;
}

void keep_comment(Building& state, std::string_view text) {
  if (state.line.comment.data() == nullptr)
    state.line.comment = text;
}

/// What is no word behind a command to which it can matter: its text, up to a comment. Leaves
/// `first` alone where the words do count.
void take_argument_text(Building& state, Iterator& first, Iterator last) {
  Command* const command = state.command;
  if (command == nullptr || state.overflows || command->kind != CommandKind::lettered ||
      has_letters_that_count(*command))
    return;
  Iterator from = state.begin + command->column;  // behind its letter
  while (from != last && (is_blank(*from) || is_digit(*from) || *from == '.'))
    ++from;
  const std::uint32_t begins = command->column;
  if (state.line.fault_column >= begins)
    clear_fault(state.line);
  const Iterator end = std::find(from, last, ';');
  command->text = {from, static_cast<std::size_t>(end - from)};
  first = end;
  if (end != last) {
    keep_comment(state, {end + 1, static_cast<std::size_t>(last - end - 1)});
    first = last;
  }
}

/// Blanks, and what editors write for one that breaks no line (U+00A0), whole or cut in half.
bool skip_blanks(Building&, Iterator& first, Iterator last) {
  const Iterator begin = first;
  while (first != last && (is_blank(*first) || *first == '\xC2' || *first == '\xA0'))
    ++first;
  return first != begin;
}

/// From ';' to the end.
bool read_tail_comment(Building& state, Iterator& first, Iterator last) {
  if (first == last || *first != ';')
    return false;
  keep_comment(state, {first + 1, static_cast<std::size_t>(last - first - 1)});
  first = last;
  return true;
}

/// '(' to its ')', others in between.
bool read_nested_comment(Building& state, Iterator& first, Iterator last) {
  if (first == last || *first != '(')
    return false;
  std::ptrdiff_t depth = 1;
  for (Iterator at = first + 1; at != last;) {
    const Iterator closing = std::find(at, last, ')');
    depth += std::count(at, closing, '(') - 1;
    if (closing == last)
      break;
    if (depth == 0) {
      keep_comment(state, {first + 1, static_cast<std::size_t>(closing - first - 1)});
      first = closing + 1;
      return true;
    }
    at = closing + 1;
  }
  state.fault(LineFault::unclosed_comment, first);
  keep_comment(state, {first + 1, static_cast<std::size_t>(last - first - 1)});
  first = last;
  return true;
}

/// '*' and the exclusive or of all bytes before it, in decimal.
bool read_checksum(Building& state, Iterator& first, Iterator last) {
  if (last - first < 2 || *first != '*' || !is_digit(first[1]))
    return false;
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

/// One of the above as a parser: it says whether it took something, and else leaves `first` alone.
template <bool (*kRead)(Building&, Iterator&, Iterator)>
struct Reader : x3::parser<Reader<kRead>> {
  using attribute_type = x3::unused_type;
  static constexpr bool has_attribute = false;

  template <typename Context, typename RuleContext, typename Attribute>
  bool parse(Iterator& first, Iterator last, const Context& context, RuleContext&,
             Attribute&) const {
    return kRead(x3::get<BuildingTag>(context).get(), first, last);
  }
};

const auto named = Reader<read_named>{};
const auto word = Reader<read_word>{};
const auto blank = Reader<skip_blanks>{};
const auto tail_comment = Reader<read_tail_comment>{};
const auto nested_comment = Reader<read_nested_comment>{};
const auto checksum = Reader<read_checksum>{};
/// A quoted text behind a letter: an argument that is no number.
const auto quoted = x3::omit[x3::lit('"') >> *(x3::char_ - '"') >> -x3::lit('"')];

const auto item = word | blank | tail_comment | nested_comment | checksum | quoted;
const auto items = *item;
// x3::digit is for ASCII alone: it may abort at other bytes.
const auto decimal_digit = x3::char_('0', '9');
const auto numbered = x3::omit[x3::char_("Nn") >> +decimal_digit >> *blank];
const auto numbered_line = (named >> -tail_comment) | items;
const auto whole_line = x3::omit[*blank >> -(x3::lit('/') >> *blank)] >> -numbered >> numbered_line;

void clear(Line& line) {
  line.commands = 0;
  line.comment = {};
  line.comment_is_alone = false;
  line.checksum = Checksum::absent;
  clear_fault(line);
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
  if (first != last)
    take_argument_text(state, first, last);
  if (first != last && line.fault == LineFault::none)
    state.fault(
        *first == '{' || *first == '[' ? LineFault::placeholder : LineFault::stray_character,
        first);
  line.comment_is_alone = line.commands == 0 && line.comment.data() != nullptr;
  if (leaves_line_out(line.fault))
    line.commands = 0;
}

}  // namespace

const char* parse_line(const char* first, const char* last, Line& out) {
  clear(out);
  Building state{out, first};
  if (first != last && *first == '%')
    first = end_of_line(first, last);
  read_run(state, first, last);
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
