// Pages: names are escaped, nothing is fetched, parts show what they are given.
#include "output/report/page.hpp"

#include <gtest/gtest.h>

#include "output/report/page_parts.hpp"
#include "output/report/page_table.hpp"
#include "output/report/strings.hpp"
#include "platetally/order.hpp"

namespace platetally::report {
namespace {

TEST(Page, TextMeansNothingToHtml) {
  EXPECT_EQ(html_text("<script>alert('1')</script>&\""),
            "&lt;script&gt;alert(&#39;1&#39;)&lt;/script&gt;&amp;&quot;");
}

TEST(Page, NamesEndLinesAtSeparatorsOnly) {
  EXPECT_EQ(html_name("shop/seed-tray_tags.gcode.gz"),
            "shop/<wbr>seed-<wbr>tray_<wbr>tags.gcode.gz");
  EXPECT_EQ(html_name("a b"), "a b");
  EXPECT_EQ(html_name("a/"), "a/");
  EXPECT_EQ(html_name("<&-x"), "&lt;&amp;-<wbr>x");
  const std::string longest(28, 'x');
  EXPECT_EQ(html_name(longest), longest);
  const std::string name = "p/" + std::string(20, 'x') + "\xC3\xA9" + std::string(20, 'y');
  EXPECT_EQ(html_name(name),
            "<span title=\"" + name + "\">p/<wbr>xxxxxxxxxxxx\xE2\x80\xA6" + "yyyyyyyyyyyy</span>");
}

TEST(Page, HostileNamesStayText) {
  OrderReport report;
  report.path = "<script>alert(1).gcode";
  report.machine = "\"><img src=x onerror=alert(1)>";
  report.colours = {"<u>", "white"};
  OrderPair pair;
  pair.to = 1;
  report.pairs = {pair};
  report.outcomes = {OrderOutcome{}, OrderOutcome{}};
  report.outcomes[0].name = "actual";
  report.plan = {"layers 1-2: 0 1<"};
  const std::string page = to_html(report);
  for (const char* bad : {"<script>alert", "<img", "<u>"})
    EXPECT_EQ(page.find(bad), std::string::npos) << bad;
  EXPECT_NE(page.find("&lt;script&gt;"), std::string::npos);
  // Nothing comes from elsewhere.
  for (const char* outside : {"http:", "https:", "src=\"", "url(", "@import"})
    EXPECT_EQ(page.find(outside), std::string::npos) << outside;
  EXPECT_NE(page.find("default-src 'none'"), std::string::npos);
  EXPECT_NE(page.find("small sample"), std::string::npos);
}

PageHead head(std::string title) {
  return {std::move(title), "what it says", {"changer"}, {}};
}

TEST(Page, TheHeadShowsDateAndContentOnlyIfTheyAreGiven) {
  EXPECT_EQ(Page(head("t")).take().find("content "), std::string::npos);
  PageHead stamped = head("t");
  stamped.stamp = {"27 <Nov>", "0123456789abcdef0123"};
  const std::string page = Page(stamped).take();
  EXPECT_NE(page.find("<li>27 &lt;Nov&gt;</li>"), std::string::npos);
  EXPECT_NE(page.find(">content 0123456789ab</li>"), std::string::npos);
}

TEST(Page, AMakeUpBarHasSegmentsAsWideAsTheirShares) {
  Page page(head("t"));
  Figure figure;
  figure.name = "Material";
  figure.parts = {{"part", 30.0, "30.0 g", Hue::part},
                  {"none", 0.0, "0 g", Hue::purge},
                  {"purge", 10.0, "10.0 g", Hue::purge}};
  const std::vector<Figure> figures{figure};
  page.figures(figures);
  const std::string text = page.take();
  EXPECT_NE(text.find("<rect class=\"h-part\" x=\"0.00%\" width=\"75.00%\""), std::string::npos);
  EXPECT_NE(text.find("<rect class=\"h-purge\" x=\"75.00%\" width=\"25.00%\""), std::string::npos);
  EXPECT_EQ(text.find(">none "), std::string::npos);
  EXPECT_NE(text.find("30.0\xC2\xA0g"), std::string::npos);
}

TEST(Page, ABandLiesWhereItsNumbersLie) {
  Page page(head("t"));
  Figure figure;
  figure.band = FigureBand{100.0, 125.0, 200.0, "100 s to 200 s"};
  const std::vector<Figure> figures{figure};
  page.figures(figures);
  // From 50 to 250 on the rail: the band from a quarter to three quarters, the figure at 37.5 %.
  const std::string text = page.take();
  EXPECT_NE(text.find("class=\"reach\" x=\"25.0%\" width=\"50.0%\""), std::string::npos);
  EXPECT_NE(text.find("class=\"here\" x=\"37.5%\""), std::string::npos);
}

TEST(Page, TwoReasonsAreShownAndTheOthersFolded) {
  Page page(head("t"));
  page.verdict({Grade::look, "Look", {"a", "b", "c", "d"}, false, "pairs", "see"});
  const std::string text = page.take();
  EXPECT_NE(text.find("<ul><li>a</li><li>b</li></ul><details><summary>2 more"), std::string::npos);
  EXPECT_NE(text.find("href=\"#pairs\""), std::string::npos);
}

// A statement is no success: no tick, and not the colour of one.
TEST(Page, APlainVerdictHasNoSign) {
  Page page(head("t"));
  page.verdict({Grade::ready, "After against before", {}, true, "", ""});
  const std::string text = page.take();
  EXPECT_NE(text.find("class=\"verdict plain\""), std::string::npos);
  EXPECT_EQ(text.find("class=\"sign\""), std::string::npos);
  EXPECT_EQ(text.find("verdict ready"), std::string::npos);
}

TEST(Page, LeversPastThoseOpenAndMinorOnesAreFolded) {
  Page page(head("t"));
  std::vector<Lever> levers(5);
  for (std::size_t i = 0; i < levers.size(); ++i)
    levers[i].advice = std::string(1, static_cast<char>('p' + i));
  levers[0].is_minor = true;
  page.levers(levers, "none", 2);
  const std::string text = page.take();
  const std::size_t fold = text.find("3 more, of less weight");
  ASSERT_NE(fold, std::string::npos);
  EXPECT_LT(text.find("<b>Q</b>"), fold);
  EXPECT_LT(text.find("<b>R</b>"), fold);
  for (const char* folded : {"<b>P</b>", "<b>S</b>", "<b>T</b>"})
    EXPECT_GT(text.find(folded), fold) << folded;
}

TEST(Page, TableBarsAreAsLongAsTheirValues) {
  PageTable table;
  table.columns = {words_column("plate"), {"purge", "g", false, true}};
  table.rows = {{{{"one"}, {"10.0", 10.0}}}, {{{"two"}, {"5.00", 5.0}}, "over the limit"}};
  const std::string text = html_of(table);
  EXPECT_NE(text.find("width=\"100.0%\""), std::string::npos);
  EXPECT_NE(text.find("width=\"50.0%\""), std::string::npos);
  EXPECT_NE(text.find("purge&nbsp;<small>g</small>"), std::string::npos);
  EXPECT_NE(
      text.find("<tr class=\"over\"><th scope=\"row\" class=\"w\">two<small class=\"mark\">over "
                "the limit</small>"),
      std::string::npos);
}

TEST(Page, ANumberAndItsUnitStayTogether) {
  EXPECT_EQ(html_prose("after 5 min and 3 things"), "after 5\xC2\xA0min and 3 things");
  EXPECT_EQ(held_together("1 h 21 min", true),
            "1\xC2\xA0h\xC2\xA0"
            "21\xC2\xA0min");
}

}  // namespace
}  // namespace platetally::report
