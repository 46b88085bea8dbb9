#include "reading/interpreter/object_marks.hpp"

#include <algorithm>
#include <array>

#include "reading/dialect/text.hpp"

namespace platetally::interpreter {

namespace {

using dialect::equal_without_case;
using dialect::is_blank;
using dialect::is_letter;
using dialect::is_one_of;
using dialect::starts_without_case;
using dialect::without_leading_blanks;

constexpr std::size_t kMostNameBytes = 80;

enum class Mark : unsigned char { none, begins, ends };

struct Said {
  Mark mark = Mark::none;
  std::string_view name;
};

constexpr std::array<std::string_view, 6> kBegins{"printing", "print",    "start",
                                                  "begin",    "starting", "beginning"};
constexpr std::array<std::string_view, 7> kEnds{"end",      "ending", "stop",   "stopping",
                                                "finished", "done",   "stopped"};

bool is_between(char c) {
  return is_blank(c) || c == '_' || c == '-';
}

std::string_view trimmed(std::string_view text) {
  text = without_leading_blanks(text);
  while (!text.empty() && is_blank(text.back()))
    text.remove_suffix(1);
  return text;
}

/// Cuts letters at the start, and what stands between words in front of them.
std::string_view cut_word(std::string_view& rest) {
  while (!rest.empty() && is_between(rest.front()))
    rest.remove_prefix(1);
  std::size_t length = 0;
  while (length < rest.size() && is_letter(rest[length]))
    ++length;
  const std::string_view word = rest.substr(0, length);
  rest.remove_prefix(length);
  return word;
}

/// Without a colon in front and quotes around it.
std::string_view name_in(std::string_view text) {
  text = trimmed(text);
  if (text.starts_with(':'))
    text = trimmed(text.substr(1));
  if (text.size() >= 2 && (text.front() == '"' || text.front() == '\'') &&
      text.back() == text.front())
    text = trimmed(text.substr(1, text.size() - 2));
  return text.substr(0, kMostNameBytes);
}

/// Behind a lone "object" a sentence would be as likely as a name of several words.
bool is_plain_name(std::string_view text) {
  text = trimmed(text);
  const bool has_colon = text.starts_with(':');
  if (has_colon)
    text = trimmed(text.substr(1));
  const bool in_quotes = text.size() > 2 && (text.front() == '"' || text.front() == '\'') &&
                         text.back() == text.front();
  return !text.empty() && (in_quotes || std::none_of(text.begin(), text.end(), is_blank));
}

/// What follows "object": a verb and a name, or a name.
Said read_behind_object(std::string_view rest) {
  if (!rest.empty() && !is_between(rest.front()) && rest.front() != ':')
    return {};  // "objects", "object(s)"
  std::string_view behind = rest;
  const std::string_view word = cut_word(behind);
  const bool ends_there = behind.empty() || is_between(behind.front()) || behind.front() == ':';
  if (ends_there && is_one_of(word, kEnds))
    return {Mark::ends, {}};
  if (ends_there && is_one_of(word, kBegins) && !name_in(behind).empty())
    return {Mark::begins, name_in(behind)};
  if (!is_plain_name(rest))
    return {};
  return {Mark::begins, name_in(rest)};
}

Said read_mark(std::string_view text) {
  if (text.find('=') != std::string_view::npos)
    return {};
  std::string_view rest = text;
  std::string_view word = cut_word(rest);
  if (equal_without_case(word, "object"))
    return read_behind_object(rest);
  const bool begins = is_one_of(word, kBegins);
  const bool ends = is_one_of(word, kEnds);
  if (!begins && !ends)
    return {};
  word = cut_word(rest);
  if (ends && is_one_of(word, kBegins))  // two verbs
    word = cut_word(rest);
  if (equal_without_case(word, "of"))
    word = cut_word(rest);
  if (!equal_without_case(word, "object") ||
      !(rest.empty() || is_between(rest.front()) || rest.front() == ':'))
    return {};
  const std::string_view name = name_in(rest);
  if (ends)
    return {Mark::ends, name};
  return name.empty() ? Said{} : Said{Mark::begins, name};
}

}  // namespace

std::optional<int> ObjectMarks::take(std::string_view comment, bool alone) {
  const std::string_view text = trimmed(comment);
  if (text.empty())
    return std::nullopt;
  bool is_pattern = false;
  const std::optional<int> changed = take_pattern(text, is_pattern);
  if (is_pattern)
    return changed;
  if (!alone || !dialect_.use_trade_words || !is_letter(text.front()))
    return std::nullopt;
  const Said said = read_mark(text);
  switch (said.mark) {
    case Mark::begins:
      return change_to(number_of(said.name));
    case Mark::ends:
      return change_to(kNone);
    case Mark::none:
      break;
  }
  return std::nullopt;
}

std::optional<int> ObjectMarks::take_pattern(std::string_view text, bool& is_one) {
  for (const CommentPattern& pattern : dialect_.comments) {
    const bool begins = pattern.meaning == CommentMeaning::begin_object;
    const std::string_view start = without_leading_blanks(pattern.starts_with);
    if ((!begins && pattern.meaning != CommentMeaning::end_object) ||
        !starts_without_case(text, start))
      continue;
    is_one = true;
    const std::string_view name = name_in(text.substr(start.size()));
    return change_to(begins ? number_of(name.empty() ? text : name) : kNone);
  }
  return std::nullopt;
}

std::optional<int> ObjectMarks::change_to(int object) {
  if (object == object_)
    return std::nullopt;
  object_ = object;
  return object;
}

int ObjectMarks::number_of(std::string_view name) {
  const auto known = numbers_.find(name);
  if (known != numbers_.end())
    return known->second;
  if (names_.size() >= kMostNames)
    return kNone;
  const int number = static_cast<int>(names_.size());
  names_.emplace_back(name);
  numbers_.emplace(name, number);
  return number;
}

}  // namespace platetally::interpreter
