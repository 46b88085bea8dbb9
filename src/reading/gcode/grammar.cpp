// One of the two files that know Boost.Spirit X3; the other is stated.cpp.
//
// A line is a run of words, comments, a checksum and blanks, or a named command. The grammar says
// what each is made of; its actions, above it, sort words into commands. Words are read twice over:
// read_run() takes as many plain ones as there are (plain_words.hpp); what it stops at (a bare
// letter, a fraction, blanks inside a number, a fault) is left to the grammar, which reads plain
// words alike and decides all the others.
#include "reading/gcode/grammar.hpp"

#include <algorithm>
#include <boost/spirit/home/x3.hpp>
#include <charconv>
#include <cmath>
#include <cstring>
#include <functional>

#include "reading/gcode/building.hpp"
#include "reading/gcode/plain_words.hpp"

namespace platetally::gcode {

namespace {

namespace x3 = boost::spirit::x3;

constexpr double kMostValue = 1e18;      // beyond all that any word can mean
constexpr std::size_t kMostDigits = 40;  // of a number, its point and decimals with them
constexpr std::int32_t kMostCommandNumber = 1'000'000;

// --- What a line is made of ---------------------------------------------------------------------

// x3::digit and its like are for ASCII alone: they may abort at other bytes.
const auto digit = x3::char_('0', '9');
const auto letter = x3::char_("a-zA-Z");
const auto sign = x3::char_("+-");
const auto blank = x3::char_(" \t\r");
const auto blanks = x3::omit[*blank];
const auto to_comment = x3::omit[*(x3::char_ - ';')];

/// `*x3::char_` without its loop: most lines that come here end in a comment.
struct ToEnd : x3::parser<ToEnd> {
  using attribute_type = x3::unused_type;
  static constexpr bool has_attribute = false;

  template <typename Context, typename RuleContext, typename Attribute>
  bool parse(Iterator& first, Iterator last, const Context&, RuleContext&, Attribute&) const {
    first = last;
    return true;
  }
};
const auto to_end = ToEnd{};

/// "-12.5", ".5", "5."; a second point makes it none.
const auto number = -sign >> ((+digit >> -('.' >> *digit)) | ('.' >> +digit)) >> !x3::lit('.');

/// The same with blanks anywhere behind the sign, as the standard has it (NISTIR 6556, 3.3).
const auto spread_digits = digit % blanks;
const auto spread_number = -sign >> blanks >>
                           ((spread_digits >> -(blanks >> '.' >> -(blanks >> spread_digits))) |
                            ('.' >> blanks >> spread_digits)) >>
                           !(blanks >> '.');

/// Behind the digits of a number, as in "2e-15": an exponent where it can be nothing else.
const auto exponent_text = x3::char_("eE") >> -sign >> +digit >> !x3::lit('.');
/// "5400,25", as some programs write it under a locale of theirs.
const auto comma_text = ',' >> +digit;

// --- What is done with it ------------------------------------------------------------------------

struct Number {
  double value = 0.0;
  std::int32_t whole = 0;      ///< in front of the point, for command numbers
  std::int32_t fraction = -1;  ///< behind it; -1: nothing is
};

/// The word in work, and the line that it goes to.
struct Reading {
  Building& line;
  Iterator letter = nullptr;
  Number number{};
  std::size_t depth = 0;  ///< of comments in a comment
};
struct ReadingTag;

constexpr auto reading = [](const auto& context) -> Reading& {
  return x3::get<ReadingTag>(context).get();
};
constexpr auto text_of = [](const auto& context) -> std::string_view {
  const auto& range = x3::_attr(context);
  return {range.begin(), static_cast<std::size_t>(range.end() - range.begin())};
};

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

/// Reads "2.4e-15" from the digits on into the word of that letter; false where it is too large.
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
/// rounding errors write "E2.4e-15".
bool take_exponent(Building& state, std::string_view text) {
  if (state.command == nullptr || !state.command->words.has('E') || state.overflows)
    return false;
  const Iterator at = text.data();
  const GluedNumber glued = number_before(state.begin, at);
  return glued.letter != nullptr && upper(*glued.letter) == 'E' &&
         set_with_exponent(state, glued, at, at + text.size());
}

/// "X1e-15 Y2 E5" has two E words, of which the first is an exponent, where a sign or a small
/// letter says so.
void take_earlier_exponent(Building& state, Iterator at) {
  for (Iterator e = state.begin + state.command->column; e < at; ++e) {
    if (upper(*e) != 'E' || (*e == 'E' && e[1] != '-' && e[1] != '+'))
      continue;
    const GluedNumber glued = number_before(state.begin, e);
    Iterator end = e;
    if (glued.letter != nullptr && upper(*glued.letter) != 'E' &&
        state.command->words.has(upper(*glued.letter)) && x3::parse(end, at, exponent_text) &&
        set_with_exponent(state, glued, e, end)) {
      state.command->words.mask &= ~(1U << Words::index('E'));
      return;
    }
  }
}

std::int32_t bounded(std::string_view digits) {
  std::int32_t value = 0;
  for (const char c : digits)
    if (is_digit(c))
      value = std::min(value * 10 + (c - '0'), kMostCommandNumber);
  return value;
}

/// The value of what `number` or `spread_number` recognised; false where it is too long.
bool take_number(std::string_view text, Number& taken) {
  const bool negative = text.front() == '-';
  if (negative || text.front() == '+')
    text.remove_prefix(1);
  char digits[kMostDigits] = {};
  std::size_t count = 0;
  for (const char c : text) {
    if (is_blank(c))
      continue;
    if (count == kMostDigits)
      return false;
    digits[count++] = c;
  }
  double value = 0.0;
  std::from_chars(digits, digits + count, value, std::chars_format::fixed);
  const std::string_view packed(digits, count);
  const std::size_t point = packed.find('.');
  const std::int32_t whole = bounded(packed.substr(0, point));
  taken.value = negative ? -value : value;
  taken.whole = negative ? -whole : whole;
  taken.fraction = point < count - 1 ? bounded(packed.substr(point + 1)) : -1;
  return true;
}

/// "25" of "5400,25"; false where the number has a point already.
bool take_decimals_behind_comma(Reading& in_work, std::string_view text) {
  const Iterator comma = text.data();
  if (std::find(in_work.letter, comma, '.') != comma)
    return false;
  double decimals = 0.0, place = 1.0;
  constexpr std::size_t kMostDecimals = 15;  // more are below a double's last digit
  for (const char c : text.substr(1, kMostDecimals)) {
    decimals = decimals * 10.0 + (c - '0');
    place *= 10.0;
  }
  const bool negative = std::find(in_work.letter, comma, '-') != comma;
  in_work.number.value += (negative ? -decimals : decimals) / place;
  in_work.line.fault(LineFault::decimal_comma, comma);
  return true;
}

/// The word in work, with its number or bare.
void add_word(Reading& in_work, const Number* value) {
  Building& state = in_work.line;
  const Iterator at = in_work.letter;
  const char name = upper(*at);
  if (state.overflows || (name == 'N' && state.command == nullptr))
    return;  // the latter is a line number
  if (begins_command(state, name, at, value == nullptr)) {
    Command* command = state.add(CommandKind::lettered, at);
    if (command == nullptr)
      return;
    command->letter = name;
    command->bare_number = value == nullptr;
    if (value != nullptr) {
      command->number = value->whole;
      command->fraction = value->fraction;
    }
    return;
  }
  if (state.command == nullptr && state.add(CommandKind::motionless, at) == nullptr)
    return;
  Words& words = state.command->words;
  const std::uint32_t bit = 1U << Words::index(name);
  if (name == 'E' && value != nullptr && words.has('E'))
    take_earlier_exponent(state, at);
  if (((words.mask | words.bare) & bit) != 0 && has_letters_that_count(*state.command))
    state.fault(LineFault::repeated_letter, at);
  if (value != nullptr)
    words.set(name, value->value);
  else
    words.bare |= bit;
}

void add_named(Building& state, std::string_view name) {
  state.add(CommandKind::named, name.data())->name = name;
}

void keep_comment(Building& state, std::string_view text) {
  if (state.line.comment.data() == nullptr)
    state.line.comment = text;
}

/// '*' and the exclusive or of all bytes before it, in decimal.
void check_sum(Building& state, std::string_view text) {
  const Iterator asterisk = text.data();
  unsigned expected = 0;
  for (Iterator at = state.begin; at != asterisk; ++at)
    expected ^= static_cast<unsigned char>(*at);
  const bool right = bounded(text.substr(1)) == static_cast<std::int32_t>(expected);
  state.line.checksum = right ? Checksum::right : Checksum::wrong;
  if (!right && state.line.fault == LineFault::none)
    state.line.fault_column = state.column(asterisk);
}

// --- Both together -------------------------------------------------------------------------------

constexpr auto begin_word = [](auto& context) {
  reading(context).letter = text_of(context).data();
};
constexpr auto with_number = [](auto& context) {
  x3::_pass(context) = take_number(text_of(context), reading(context).number);
};
constexpr auto with_decimals = [](auto& context) {
  x3::_pass(context) = take_decimals_behind_comma(reading(context), text_of(context));
};
constexpr auto with_exponent = [](auto& context) {
  x3::_pass(context) = take_exponent(reading(context).line, text_of(context));
};
constexpr auto add_numbered = [](auto& context) {
  add_word(reading(context), &reading(context).number);
};
constexpr auto add_bare = [](auto& context) { add_word(reading(context), nullptr); };
constexpr auto if_text_follows = [](auto& context) {
  const Command* command = reading(context).line.command;
  x3::_pass(context) =
      command != nullptr && takes_text(command->letter, command->number, command->fraction);
};
constexpr auto add_name = [](auto& context) { add_named(reading(context).line, text_of(context)); };
constexpr auto add_text = [](auto& context) {
  reading(context).line.command->text = text_of(context);
};
constexpr auto add_comment = [](auto& context) {
  keep_comment(reading(context).line, text_of(context));
};
constexpr auto compare_sum = [](auto& context) {
  check_sum(reading(context).line, text_of(context));
};
constexpr auto fault = [](LineFault what) {
  return [what](auto& context) { reading(context).line.fault(what, text_of(context).data()); };
};
constexpr auto no_depth = [](auto& context) { reading(context).depth = 0; };
constexpr auto deeper = [](auto& context) { ++reading(context).depth; };
constexpr auto back_up = [](auto& context) {
  x3::_pass(context) = reading(context).depth > 0;
  reading(context).depth -= x3::_pass(context) ? 1 : 0;
};

// Behind a command's number a text may begin with a digit ("M117 2 trays"): no blanks within there.
const auto command_letter = x3::char_("gGmMtT");
const auto command_number =
    x3::raw[command_letter][begin_word] >> blanks >> x3::raw[number][with_number];
const auto argument_number =
    x3::raw[letter - command_letter][begin_word] >> blanks >> x3::raw[spread_number][with_number];
const auto decimals = x3::raw[comma_text][with_decimals];
const auto text = x3::eps[if_text_follows] >> blanks >> x3::raw[to_comment][add_text];
const auto begins_number = x3::char_("0-9.+-");
const auto begins_placeholder = x3::char_("{[");

const auto exponent = x3::raw[exponent_text][with_exponent];
const auto numbered_word =
    (command_number | argument_number) >> -decimals >> x3::eps[add_numbered] >> -text;
const auto bare_word = x3::raw[letter][begin_word] >>
                       !(blanks >> (begins_number | begins_placeholder)) >> x3::eps[add_bare];
const auto word = exponent | numbered_word | bare_word;

/// And what editors write for one that breaks no line (U+00A0), whole or cut in half.
const auto any_blanks = x3::omit[+(blank | '\xC2' | '\xA0')];
const auto tail_comment = ';' >> x3::raw[to_end][add_comment];
/// '(' to its ')', others in between; by counting, as a line may have more than a stack bears.
const auto in_comment =
    *(x3::lit('(')[deeper] | x3::lit(')')[back_up] | x3::omit[x3::char_ - '(' - ')']);
const auto nested_comment = x3::lit('(')[no_depth] >> x3::raw[in_comment][add_comment] >> ')';
const auto unclosed_comment = x3::raw['('][fault(LineFault::unclosed_comment)] >> to_end;
const auto checksum = x3::raw['*' >> +digit][compare_sum];
/// A quoted text behind a letter: an argument that is no number.
const auto quoted = '"' >> x3::omit[*(x3::char_ - '"')] >> -x3::lit('"');

const auto item =
    word | any_blanks | tail_comment | nested_comment | unclosed_comment | checksum | quoted;
const auto items = *item;
/// Two letters or underscores in a row where a line begins.
const auto name_letter = letter | x3::char_('_');
const auto name = name_letter >> name_letter >> *(name_letter | digit | '.') >>
                  &(x3::eoi | blank | '=' | ';');
const auto named = x3::raw[name][add_name] >> blanks >> x3::raw[to_comment][add_text];
const auto line_number = x3::omit[x3::char_("nN") >> +digit] >> -any_blanks;
const auto numbered_line = (named >> -tail_comment) | items;
const auto whole_line = -any_blanks >> -('/' >> -any_blanks) >> -line_number >> numbered_line;

/// A letter that the above stopped at.
const auto no_word = letter >> blanks >>
                     (x3::raw[&begins_number][fault(LineFault::malformed_number)] |
                      x3::raw[&begins_placeholder][fault(LineFault::placeholder)]);

/// A run of plain words.
void read_run(Building& state, Iterator& first, Iterator last) {
  if (first != last && last[-1] == '\n')
    read_plain_words(first, LineEndAhead{}, state);
  else
    read_plain_words(first, Bounded{last}, state);
}

Iterator end_of_line(Iterator first, Iterator last) {
  const auto* end =
      static_cast<Iterator>(std::memchr(first, '\n', static_cast<std::size_t>(last - first)));
  return end == nullptr ? last : end;
}

void clear_fault(Line& line) {
  line.fault = LineFault::none;
  line.fault_column = 0;
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
  Reading in_work{state};
  const auto parse = [&](const auto& rule, Iterator& at) {
    x3::parse(at, last, x3::with<ReadingTag>(std::ref(in_work))[rule]);
  };
  if (state.command != nullptr)
    parse(items, first);
  else if (state.numbered)
    parse(numbered_line, first);
  else
    parse(whole_line, first);
  while (first != last && is_blank(*first))
    ++first;
  Line& line = state.line;
  if (first != last) {
    Iterator at = first;
    parse(no_word, at);
    take_argument_text(state, first, last);
  }
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
