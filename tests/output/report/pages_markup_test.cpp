// Pages and pictures of every kind of report, made of hostile names, read as strictly as XML: tags
// balance, ids are unique, links lead somewhere, and nothing that came in as text is markup.
#include <gtest/gtest.h>

#include <functional>

#include "output/report/page_assets.hpp"
#include "output/report/random_reports.hpp"
#include "platetally/page.hpp"
#include "platetally/picture.hpp"
#include "support/json_schema.hpp"
#include "support/markup.hpp"
#include "support/test_names.hpp"

namespace platetally {
namespace {

struct Kind {
  const char* name;
  std::function<std::string(unsigned)> page;
};

std::string full_tally_page(unsigned seed) {
  const OrderReport order = test::random_order(seed);
  const Comparison comparison = test::random_comparison(seed);
  const Machine machine;
  PageExtras extras;
  extras.machine = &machine;
  extras.order = &order;
  extras.comparison = &comparison;
  extras.stamp = {"27 November 2026", "0123456789abcdef0123456789abcdef"};
  return to_html(test::random_account(seed), extras);
}

const std::vector<Kind>& kinds() {
  static const std::vector<Kind> all{
      {"tally", [](unsigned seed) { return to_html(test::random_account(seed)); }},
      {"tally with order and machines", full_tally_page},
      {"order", [](unsigned seed) { return to_html(test::random_order(seed)); }},
      {"comparison", [](unsigned seed) { return to_html(test::random_comparison(seed)); }},
      {"plates compared", [](unsigned seed) { return to_html(test::random_plates(seed)); }},
      {"payback", [](unsigned seed) { return to_html(test::random_payback(seed)); }},
      {"audit", [](unsigned seed) { return to_html(test::random_audit(seed)); }},
      {"calibration", [](unsigned seed) { return to_html(test::random_calibration(seed)); }},
      {"need", [](unsigned seed) { return to_html(test::random_need(seed)); }},
      {"reconciliation", [](unsigned seed) { return to_html(test::random_reconcile(seed)); }},
      {"plan", [](unsigned seed) { return to_html(test::random_plan(seed)); }},
  };
  return all;
}

class EveryPage : public testing::TestWithParam<std::size_t> {
 protected:
  std::string page(unsigned seed) const { return kinds()[GetParam()].page(seed); }
};

constexpr unsigned kSeeds = 12;

TEST_P(EveryPage, IsWellFormed) {
  for (unsigned seed = 0; seed < kSeeds; ++seed) {
    const test::Markup markup = test::read_markup(page(seed));
    for (const std::string& fault : markup.faults)
      ADD_FAILURE() << "seed " << seed << ": " << fault;
    EXPECT_EQ(markup.named("html").size(), 1U);
    EXPECT_EQ(markup.named("h1").size(), 1U);
    EXPECT_EQ(markup.named("main").size(), 1U);
  }
}

// The scripts are the page's own and its data; handlers, styles and things from elsewhere are none.
TEST_P(EveryPage, HoldsNothingThatRunsOrIsFetched) {
  for (unsigned seed = 0; seed < kSeeds; ++seed) {
    const test::Markup markup = test::read_markup(page(seed));
    for (const test::Element& element : markup.elements) {
      for (const auto& [key, value] : element.attributes) {
        EXPECT_FALSE(key.starts_with("on")) << element.name << " " << key;
        EXPECT_NE(key, "style") << element.name << ": the content policy allows none";
        EXPECT_NE(key, "src") << element.name;
        EXPECT_TRUE(key != "href" || value.starts_with('#')) << value;
      }
      EXPECT_NE(element.name, "img");
      EXPECT_NE(element.name, "iframe");
      EXPECT_NE(element.name, "link");
      if (element.name == "script" && element.get("type") != "application/json") {
        EXPECT_EQ(element.text, report::script_asset.text);
      }
      if (element.name == "style") {
        EXPECT_EQ(element.text, report::css_asset.text);
      }
    }
  }
}

TEST_P(EveryPage, DataOfChartsIsJsonWithAnElementForEach) {
  for (unsigned seed = 0; seed < kSeeds; ++seed) {
    const test::Markup markup = test::read_markup(page(seed));
    for (const test::Element& element : markup.elements) {
      if (element.get("type") != "application/json")
        continue;
      EXPECT_EQ(element.get("id"), "data");
      EXPECT_EQ(element.text.find('<'), std::string::npos);
      EXPECT_EQ(test::key_that_stands_twice(element.text), "");
      const test::Json charts = test::Json::parse(element.text);
      for (const test::Json& chart : charts)
        EXPECT_TRUE(std::ranges::any_of(markup.elements, [&](const test::Element& one) {
          return one.get("id") == chart.at("id").get<std::string>();
        })) << chart.at("id");
    }
  }
}

TEST_P(EveryPage, ShowsNoNumberThatIsNone) {
  for (unsigned seed = 0; seed < kSeeds; ++seed)
    for (const test::Element& element : test::read_markup(page(seed)).elements) {
      if (element.name == "script" || element.name == "style")
        continue;
      for (const auto& [key, value] : element.attributes) {
        if (key == "title" || key == "aria-label" || key == "class" || key == "id")
          continue;
        for (const char* word : {"nan", "inf", "NaN", "1e+"})
          EXPECT_EQ(value.find(word), std::string::npos) << element.name << " " << key << value;
      }
    }
}

TEST_P(EveryPage, TablesHaveACellForEveryColumn) {
  for (unsigned seed = 0; seed < kSeeds; ++seed) {
    const test::Markup markup = test::read_markup(page(seed));
    for (std::size_t t = 0; t < markup.elements.size(); ++t) {
      if (markup.elements[t].name != "table")
        continue;
      std::size_t columns = 0;
      for (std::size_t r = t + 1; r < markup.elements.size(); ++r) {
        const test::Element& row = markup.elements[r];
        if (row.name != "tr" || std::ranges::find(row.inside, t) == row.inside.end())
          continue;
        std::size_t cells = 0;
        for (const test::Element& cell : markup.elements)
          if ((cell.name == "td" || cell.name == "th") && !cell.inside.empty() &&
              cell.inside.back() == r)
            cells += cell.has("colspan") ? std::stoul(cell.get("colspan")) : 1;
        columns = columns == 0 ? cells : columns;
        EXPECT_EQ(cells, columns) << "seed " << seed;
      }
      EXPECT_GT(columns, 0U);
    }
  }
}

TEST_P(EveryPage, TheSameReportGivesTheSameBytes) {
  EXPECT_EQ(page(1), page(1));
}

struct LinkCase {
  const char* code;
  const char* leads_to;  ///< id of a card; empty: nowhere
  bool has_card;
};

class VerdictLink : public testing::TestWithParam<LinkCase> {};

// A plate may be short of purge by its totals and name no pair, and its bed may not be known.
TEST_P(VerdictLink, LeadsToACardThatIsThere) {
  Account account;
  account.verdict = {Grade::look, {{GetParam().code, Grade::look, "it is so"}}};
  if (GetParam().has_card) {
    test::Random random(1);
    account.swap_pairs = {test::any_pair(random, 0, 1)};
    account.tools = {test::any_tool(random, 0), test::any_tool(random, 1)};
    test::add_bed(account, random);
  }
  const test::Markup markup = test::read_markup(to_html(account));
  for (const std::string& fault : markup.faults)
    ADD_FAILURE() << fault;
  std::string href;
  for (const test::Element* link : markup.named("a"))
    href = link->get("href");
  EXPECT_EQ(href, *GetParam().leads_to == '\0' ? "" : std::string("#") + GetParam().leads_to);
}

INSTANTIATE_TEST_SUITE_P(
    Reasons, VerdictLink,
    testing::Values(LinkCase{"purge-short", "pairs", true}, LinkCase{"purge-short", "", false},
                    LinkCase{"purge-undecided", "pairs", true},
                    LinkCase{"leaves-area", "bed", true}, LinkCase{"leaves-area", "", false},
                    LinkCase{"left-out", "doubts", false},
                    LinkCase{"words-unknown", "doubts", true},
                    LinkCase{"file-broken", "doubts", false}, LinkCase{"manual-changes", "", true}),
    [](const auto& one) {
      return test::readable(one.param.code) + (one.param.has_card ? "_with_it" : "_without");
    });

INSTANTIATE_TEST_SUITE_P(Reports, EveryPage, testing::Range(std::size_t{0}, kinds().size()),
                         [](const auto& one) {
                           return test::numbered(one.param, kinds()[one.param].name);
                         });

}  // namespace
}  // namespace platetally
