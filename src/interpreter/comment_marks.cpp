#include "interpreter/comment_marks.hpp"

#include <algorithm>
#include <array>

namespace platetally::interpreter {

namespace {

constexpr std::size_t kLongestMark = 80;
constexpr std::array<std::string_view, 7> kTradeWords = {
    "prime tower", "purge tower", "priming tower", "purging", "purge line", "prime line", "purge"};
constexpr std::array<std::string_view, 5> kEnds = {"end", "done", "finished", "off", "complete"};

char lower(char c) {
  return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
}

std::string_view trimmed(std::string_view text) {
  const auto is_blank = [](char c) { return c == ' ' || c == '\t'; };
  while (!text.empty() && is_blank(text.front()))
    text.remove_prefix(1);
  while (!text.empty() && is_blank(text.back()))
    text.remove_suffix(1);
  return text;
}

std::string lowered(std::string_view text) {
  std::string result(text.substr(0, kLongestMark));
  std::transform(result.begin(), result.end(), result.begin(), lower);
  return result;
}

/// "word:" in front, empty if there is none.
std::string_view prefix_of(std::string_view text) {
  const std::size_t colon = text.find(':');
  if (colon == std::string_view::npos || colon == 0)
    return {};
  const bool one_word = std::all_of(text.begin(), text.begin() + static_cast<std::ptrdiff_t>(colon),
                                    [](char c) { return lower(c) >= 'a' && lower(c) <= 'z'; });
  return one_word ? text.substr(0, colon + 1) : std::string_view{};
}

bool has_word(std::string_view text, std::string_view word) {
  const auto is_letter = [](char c) { return c >= 'a' && c <= 'z'; };
  for (std::size_t at = text.find(word); at != std::string_view::npos;
       at = text.find(word, at + 1)) {
    const bool starts = at == 0 || !is_letter(text[at - 1]);
    const std::size_t behind = at + word.size();
    if (starts && (behind >= text.size() || !is_letter(text[behind])))
      return true;
  }
  return false;
}

}  // namespace

CommentMarks::CommentMarks(const Dialect& dialect)
    : patterns_(dialect.comments), use_trade_words_(dialect.use_trade_words) {
  for (CommentPattern& pattern : patterns_)
    pattern.starts_with = lowered(pattern.starts_with);
}

bool CommentMarks::see_patterns(std::string_view comment) {
  for (const CommentPattern& pattern : patterns_) {
    if (!comment.starts_with(pattern.starts_with))
      continue;
    if (pattern.meaning != CommentMeaning::layer)
      set(pattern.meaning == CommentMeaning::begin_purge, false);
    return true;
  }
  return false;
}

void CommentMarks::see(std::string_view comment, bool alone) {
  const std::string text = lowered(trimmed(comment));
  if (text.empty() || text.front() == ';' || text.front() == '(')
    return;
  if (!patterns_.empty() && see_patterns(text))
    return;
  if (!use_trade_words_)
    return;
  const std::string_view prefix = prefix_of(text);
  const std::string_view said = trimmed(std::string_view(text).substr(prefix.size()));
  const bool is_mark =
      said.find('=') == std::string_view::npos &&
      std::any_of(kTradeWords.begin(), kTradeWords.end(), [&](std::string_view word) {
        return said.starts_with(word) && has_word(said, word);
      });
  const bool ends = std::any_of(kEnds.begin(), kEnds.end(),
                                [&](std::string_view word) { return has_word(said, word); });
  if (is_mark) {
    set(!ends, true);
    prefix_ = prefix;
  } else if (until_boundary_ && alone && prefix == prefix_) {
    set(false, false);
  }
}

}  // namespace platetally::interpreter
