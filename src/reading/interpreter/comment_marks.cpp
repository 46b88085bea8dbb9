#include "reading/interpreter/comment_marks.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "reading/dialect/text.hpp"
#include "reading/interpreter/layer_finder.hpp"

namespace platetally::interpreter {

namespace {

using dialect::equal_without_case;
using dialect::is_blank;
using dialect::is_digit;
using dialect::is_letter;
using dialect::is_one_of;
using dialect::starts_without_case;
using dialect::without_leading_blanks;

enum class Mark : unsigned char { none, begins, begins_until_end, ends };

constexpr std::size_t kMostPrefix = 40;

// What purge is called: one word, or two with blanks, hyphens, underscores or nothing between them.
constexpr std::array<std::string_view, 2> kPurge{"purge", "purging"};
constexpr std::array<std::string_view, 6> kFirstWords{"prime",   "priming", "purge",
                                                      "purging", "wipe",    "wiping"};
constexpr std::array<std::string_view, 4> kSecondWords{"tower", "pillar", "block", "line"};
constexpr std::array<std::string_view, 5> kBeginWords{"start", "starts", "begin", "begins",
                                                      "started"};
constexpr std::array<std::string_view, 9> kEndWords{
    "end", "ends", "ended", "done", "finish", "finished", "stop", "stops", "complete"};
// What may stand behind a phrase in the title of a section.
constexpr std::array<std::string_view, 11> kTitleWords{
    "for", "from", "to", "of", "at", "on", "layer", "tool", "section", "block", "part"};
// What may name the form of a title without a colon: "feature prime tower".
constexpr std::array<std::string_view, 7> kFormWords{"feature", "type",      "kind",   "role",
                                                     "section", "structure", "element"};

bool is_word_char(char c) {
  return is_letter(c) || is_digit(c) || c == '_' || c == '-';
}

/// Letters, digits and what numbers need; blanks, hyphens and underscores stand between words.
std::string_view cut_word(std::string_view& rest) {
  std::size_t first = 0;
  while (first < rest.size() && (is_blank(rest[first]) || rest[first] == '_' || rest[first] == '-'))
    ++first;
  std::size_t last = first;
  while (last < rest.size() &&
         (is_letter(rest[last]) || is_digit(rest[last]) || rest[last] == '.' || rest[last] == '#'))
    ++last;
  if (last == first)
    last = rest.size();  // of other signs: no word that is known
  const std::string_view word = rest.substr(first, last - first);
  rest.remove_prefix(last);
  return word;
}

bool is_number_or_tool(std::string_view word) {
  if (word.size() > 1 && (word.front() == 'T' || word.front() == 't' || word.front() == '#'))
    word.remove_prefix(1);
  return !word.empty() &&
         std::all_of(word.begin(), word.end(), [](char c) { return is_digit(c) || c == '.'; });
}

/// "primetower": both words in one.
bool is_both_words(std::string_view word) {
  return std::any_of(kFirstWords.begin(), kFirstWords.end(), [&](std::string_view first) {
    return starts_without_case(word, first) && is_one_of(word.substr(first.size()), kSecondWords);
  });
}

/// Cuts a phrase at the start; false where none stands there as whole words.
bool cut_phrase(std::string_view& text) {
  std::string_view rest = text;
  const std::string_view first = cut_word(rest);
  if (is_both_words(first)) {
    text = rest;
    return true;
  }
  std::string_view behind = rest;
  if (is_one_of(first, kFirstWords) && is_one_of(cut_word(behind), kSecondWords)) {
    text = behind;
    return true;
  }
  if (!is_one_of(first, kPurge))
    return false;
  text = rest;
  return true;
}

/// What a comment says without its prefix.
Mark read_mark(std::string_view text) {
  Mark mark = Mark::begins;
  std::string_view rest = text;
  const std::string_view first = cut_word(rest);
  if (is_one_of(first, kEndWords) || is_one_of(first, kBeginWords)) {
    mark = is_one_of(first, kEndWords) ? Mark::ends : Mark::begins_until_end;
    std::string_view after = rest;
    text = equal_without_case(cut_word(after), "of") ? after : rest;
  }
  if (!cut_phrase(text))
    return Mark::none;
  while (true) {
    const std::string_view word = cut_word(text);
    if (word.empty())
      return mark;
    if (is_one_of(word, kEndWords)) {
      mark = Mark::ends;
    } else if (is_one_of(word, kBeginWords)) {
      mark = Mark::begins_until_end;
    } else if (!is_number_or_tool(word) && !is_one_of(word, kTitleWords)) {
      return Mark::none;
    }
  }
}

/// Cuts "word:" at the start; and "type =", "type -" or "type" alone, where the word says that what
/// follows is a title.
std::string_view cut_prefix(std::string_view& text) {
  std::size_t length = 0;
  while (length < text.size() && length < kMostPrefix && is_word_char(text[length]))
    ++length;
  std::string_view prefix = text.substr(0, length);
  if (length > 0 && length < text.size() && text[length] == ':') {
    text = without_leading_blanks(text.substr(length + 1));
    return prefix;
  }
  std::string_view rest = text;
  prefix = cut_word(rest);
  if (!is_one_of(prefix, kFormWords))
    return {};
  const auto is_between = [](char c) {
    return is_blank(c) || c == '=' || c == '-' || c == '_' || c == ':' || c == '>' || c == '|';
  };
  if (rest.empty() || !is_between(rest.front()))
    return {};
  while (!rest.empty() && is_between(rest.front()))
    rest.remove_prefix(1);
  text = rest;
  return prefix;
}

std::string_view without_trailing_blanks(std::string_view text) {
  while (!text.empty() && is_blank(text.back()))
    text.remove_suffix(1);
  return text;
}

}  // namespace

CommentMarks::CommentMarks(const Dialect& dialect)
    : dialect_(dialect),
      has_end_pattern_(std::any_of(dialect.comments.begin(), dialect.comments.end(),
                                   [](const CommentPattern& pattern) {
                                     return pattern.meaning == CommentMeaning::end_purge;
                                   })) {}

void CommentMarks::take(std::string_view comment, bool alone) {
  std::string_view text = without_leading_blanks(comment);
  // ";;" and "; ;": a comment put out of use, or a line drawn with punctuation.
  if (text.empty() || take_pattern(text, alone) ||
      !(is_letter(text.front()) || is_digit(text.front())))
    return;
  text = without_trailing_blanks(text);
  const std::string_view prefix = cut_prefix(text);
  const Mark mark = dialect_.use_trade_words ? read_mark(text) : Mark::none;
  switch (mark) {
    case Mark::begins:
      begin(Section::implicit, alone, prefix);
      return;
    case Mark::begins_until_end:
      begin(Section::until_end, alone, prefix);
      return;
    case Mark::ends:
      if (alone && section_ != Section::bracketed)
        section_ = Section::none;
      return;
    case Mark::none:
      break;
  }
  const bool is_setting = text.find('=') != std::string_view::npos;
  if (alone && !is_setting && section_ == Section::implicit && equal_without_case(prefix, prefix_))
    section_ = Section::none;
}

bool CommentMarks::take_pattern(std::string_view text, bool alone) {
  for (const CommentPattern& pattern : dialect_.comments) {
    if (!starts_without_case(text, without_leading_blanks(pattern.starts_with)))
      continue;
    switch (pattern.meaning) {
      case CommentMeaning::begin_purge:
        begin(has_end_pattern_ ? Section::bracketed : Section::implicit, alone, {});
        break;
      case CommentMeaning::end_purge:
        section_ = Section::none;
        break;
      case CommentMeaning::layer:
        if (section_ != Section::bracketed)
          section_ = Section::none;
        break;
      case CommentMeaning::begin_object:
      case CommentMeaning::end_object:
        continue;  // object_marks.hpp
    }
    return true;
  }
  return false;
}

void CommentMarks::begin(Section section, bool alone, std::string_view prefix) {
  if (!alone && section != Section::bracketed) {
    line_marked_ = true;
    return;
  }
  if (section_ == Section::bracketed)
    return;
  section_ = section;
  prefix_ = prefix;
  laid_ = false;
}

void CommentMarks::lay(double z_mm) {
  if (section_ != Section::implicit && section_ != Section::until_end)
    return;
  if (laid_ && std::abs(z_mm - z_mm_) > kSameHeight_mm) {
    section_ = Section::none;
    return;
  }
  laid_ = true;
  z_mm_ = z_mm;
}

void CommentMarks::select_other_tool() {
  if (section_ == Section::implicit && laid_)
    section_ = Section::none;
}

}  // namespace platetally::interpreter
