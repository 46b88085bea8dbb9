// Reads HTML and SVG as strictly as XML would, void elements apart, and says what is wrong: pages
// are made of parts that are put together as text, so nothing else watches over their tags.
#pragma once

#include <algorithm>
#include <map>
#include <set>
#include <string>
#include <string_view>
#include <vector>

namespace platetally::test {

struct Element {
  std::string name;
  std::map<std::string, std::string> attributes;  ///< as they stand, entities and all
  std::vector<std::size_t> inside;                ///< elements that it lies in, outermost first
  std::string text;                               ///< directly in it, entities and all
  bool has(const std::string& key) const { return attributes.contains(key); }
  std::string get(const std::string& key) const {
    const auto found = attributes.find(key);
    return found == attributes.end() ? "" : found->second;
  }
  bool has_class(std::string_view css) const {
    const std::string all = " " + get("class") + " ";
    return all.find(" " + std::string(css) + " ") != std::string::npos;
  }
};

struct Markup {
  std::vector<Element> elements;  ///< in the order of their beginnings
  std::vector<std::string> faults;

  std::vector<const Element*> named(std::string_view name) const {
    std::vector<const Element*> found;
    for (const Element& element : elements)
      if (element.name == name)
        found.push_back(&element);
    return found;
  }
  std::vector<const Element*> of_class(std::string_view css) const {
    std::vector<const Element*> found;
    for (const Element& element : elements)
      if (element.has_class(css))
        found.push_back(&element);
    return found;
  }
  bool lies_in(const Element& element, std::string_view name) const {
    return std::ranges::any_of(element.inside,
                               [&](std::size_t outer) { return elements[outer].name == name; });
  }
};

class MarkupReader {
 public:
  explicit MarkupReader(std::string_view text) : text_(text) {}

  Markup read() {
    while (at_ < text_.size()) {
      if (text_[at_] != '<') {
        take_text();
      } else if (text_.substr(at_).starts_with("<!--")) {
        skip_to("-->");
      } else if (text_.substr(at_).starts_with("<!") || text_.substr(at_).starts_with("<?")) {
        skip_to(">");
      } else if (text_.substr(at_).starts_with("</")) {
        close();
      } else {
        open();
      }
    }
    for (const std::size_t left : open_)
      fault("<" + out_.elements[left].name + "> is never closed");
    hold_names_against_links();
    return std::move(out_);
  }

 private:
  void fault(const std::string& what) {
    out_.faults.push_back(what +
                          " near: " + std::string(text_.substr(at_ < 40 ? 0 : at_ - 40, 80)));
  }
  void skip_to(std::string_view end) {
    const std::size_t found = text_.find(end, at_);
    if (found == std::string_view::npos)
      fault("no " + std::string(end));
    at_ = found == std::string_view::npos ? text_.size() : found + end.size();
  }
  void hold_entities(std::string_view text) {
    for (std::size_t i = text.find('&'); i != std::string_view::npos; i = text.find('&', i + 1)) {
      const std::size_t end = text.find(';', i);
      const std::string_view name =
          end == std::string_view::npos ? "" : text.substr(i + 1, end - i - 1);
      static const std::set<std::string_view> kKnown{
          "amp", "lt", "gt", "quot", "#39", "nbsp", "ndash", "mdash", "minus", "times", "thinsp"};
      if (!kKnown.contains(name))
        fault("& that is no entity: " + std::string(text.substr(i, 12)));
    }
  }
  void take_text() {
    const std::size_t end = std::min(text_.find('<', at_), text_.size());
    const std::string_view text = text_.substr(at_, end - at_);
    hold_entities(text);
    if (!open_.empty())
      out_.elements[open_.back()].text += text;
    else if (text.find_first_not_of(" \n") != std::string_view::npos)
      fault("text outside of everything");
    at_ = end;
  }
  static bool is_name(char c) {
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '-' ||
           c == ':' || c == '_';
  }
  std::string take_name() {
    const std::size_t from = at_;
    while (at_ < text_.size() && is_name(text_[at_]))
      ++at_;
    return std::string(text_.substr(from, at_ - from));
  }
  void skip_blanks() {
    while (at_ < text_.size() && (text_[at_] == ' ' || text_[at_] == '\n'))
      ++at_;
  }
  void close() {
    at_ += 2;
    const std::string name = take_name();
    if (open_.empty() || out_.elements[open_.back()].name != name)
      fault("</" + name + "> closes what is not open");
    else
      open_.pop_back();
    if (at_ >= text_.size() || text_[at_] != '>')
      fault("no > behind </" + name);
    ++at_;
  }
  /// False: there is none.
  bool take_attribute(Element& element) {
    skip_blanks();
    const std::string key = take_name();
    if (key.empty())
      return false;
    std::string value;
    if (at_ < text_.size() && text_[at_] == '=') {
      ++at_;
      if (at_ >= text_.size() || text_[at_] != '"') {
        fault(key + " without quotes");
        return false;
      }
      const std::size_t end = std::min(text_.find('"', at_ + 1), text_.size());
      value = text_.substr(at_ + 1, end - at_ - 1);
      if (value.find('<') != std::string::npos)
        fault("< in " + key);
      hold_entities(value);
      at_ = end + 1;
    }
    if (!element.attributes.emplace(key, value).second)
      fault(key + " stands twice");
    return true;
  }
  void open() {
    ++at_;
    Element element;
    element.name = take_name();
    if (element.name.empty())
      fault("< that opens nothing");
    element.inside = open_;
    while (take_attribute(element)) {
    }
    const bool is_closed = at_ < text_.size() && text_[at_] == '/';
    at_ += is_closed ? 1 : 0;
    if (at_ >= text_.size() || text_[at_] != '>')
      fault("<" + element.name + " does not end");
    ++at_;
    static const std::set<std::string> kVoid{"meta", "wbr",  "br",  "input",
                                             "hr",   "link", "img", "col"};
    const std::string name = element.name;
    out_.elements.push_back(std::move(element));
    if (is_closed || kVoid.contains(name))
      return;
    open_.push_back(out_.elements.size() - 1);
    if (name == "script" || name == "style") {  // its text is not markup
      const std::size_t end = std::min(text_.find("</" + name, at_), text_.size());
      out_.elements.back().text = text_.substr(at_, end - at_);
      at_ = end;
    }
  }
  void hold_names_against_links() {
    std::set<std::string> ids;
    for (const Element& element : out_.elements)
      if (element.has("id") && !ids.insert(element.get("id")).second)
        fault("id stands twice: " + element.get("id"));
    const auto must_be_there = [&](const std::string& id) {
      if (!ids.contains(id))
        fault("a link leads nowhere: #" + id);
    };
    for (const Element& element : out_.elements) {
      for (const char* key : {"href", "xlink:href"})
        if (element.get(key).starts_with('#'))
          must_be_there(element.get(key).substr(1));
      if (element.get("fill").starts_with("url(#"))
        must_be_there(element.get("fill").substr(5, element.get("fill").size() - 6));
      for (const char* key : {"for", "aria-labelledby", "aria-describedby", "aria-controls"}) {
        std::string rest = element.get(key);
        while (!rest.empty()) {
          const std::size_t blank = std::min(rest.find(' '), rest.size());
          must_be_there(rest.substr(0, blank));
          rest.erase(0, blank + 1);
        }
      }
    }
  }

  std::string_view text_;
  std::size_t at_ = 0;
  Markup out_;
  std::vector<std::size_t> open_;
};

inline Markup read_markup(std::string_view text) {
  return MarkupReader(text).read();
}

}  // namespace platetally::test
