// Pages: names are escaped, nothing is fetched, no script.
#include "output/report/page.hpp"

#include <gtest/gtest.h>

#include "platetally/order.hpp"

namespace platetally::report {
namespace {

TEST(Page, TextMeansNothingToHtml) {
  EXPECT_EQ(html_text("<script>alert('1')</script>&\""),
            "&lt;script&gt;alert(&#39;1&#39;)&lt;/script&gt;&amp;&quot;");
}

TEST(Page, HostileNamesStayText) {
  OrderReport report;
  report.path = "</title><script>alert(1)</script>.gcode";
  report.machine = "\"><img src=x onerror=alert(1)>";
  report.colours = {"<b>", "white"};
  OrderPair pair;
  pair.to = 1;
  report.pairs = {pair};
  report.outcomes = {OrderOutcome{}, OrderOutcome{}};
  report.outcomes[0].name = "actual";
  report.plan = {"layers 1-2: 0 1<"};
  const std::string page = to_html(report);
  for (const char* bad : {"<script>alert", "<img", "<b>", "</title><"})
    EXPECT_EQ(page.find(bad), std::string::npos) << bad;
  EXPECT_NE(page.find("&lt;script&gt;"), std::string::npos);
  // Nothing comes from elsewhere.
  for (const char* outside : {"http:", "https:", "src=\"", "url(", "@import"})
    EXPECT_EQ(page.find(outside), std::string::npos) << outside;
  EXPECT_NE(page.find("default-src 'none'"), std::string::npos);
  EXPECT_NE(page.find("small sample"), std::string::npos);
}

TEST(Page, BarsPrintTheirValues) {
  Page page("t", "s");
  page.bars({{"one", 10.0}, {"two", 5.0}}, "g");
  const std::string text = page.take();
  EXPECT_NE(text.find("width=\"320.0\""), std::string::npos);
  EXPECT_NE(text.find("width=\"160.0\""), std::string::npos);
  EXPECT_NE(text.find("10.0 g"), std::string::npos);
}

}  // namespace
}  // namespace platetally::report
