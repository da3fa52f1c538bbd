// A list of any length on a screen: only what shows is worded. The row one is at stays the same
// thing when the list comes anew, and so does what is searched for.
#pragma once

#include <cstddef>
#include <functional>
#include <string>
#include <string_view>
#include <vector>

#include <boost/json/array.hpp>
#include <boost/json/object.hpp>

#include "admin/console/grid.h"
#include "admin/console/key.h"
#include "admin/report.h"

namespace stationer::admin::console {

using Item = boost::json::object;

// A column, and how much of the screen it wants.
struct Field {
  Column column;
  int width;     // cells
  int rank = 0;  // 0 always stays; the highest goes first when the screen is narrow
  int most = 0;  // cells that it grows to where there is room; 0: it doesn't
};

class ListView {
 public:
  // `name` tells one item from another. `look` is that of a row; null: plain.
  ListView(std::vector<Field> fields, std::function<std::string(const Item&)> name,
           std::function<Look(const Item&)> look = nullptr);

  void fill(boost::json::array items);  // objects; others are left out
  // The cells changed though the items did not.
  void reword();

  // Words so many more rows, of those that were not yet, so that the first search need not.
  void prepare(std::size_t rows);

  // Only items with each of these words in some cell; capitals don't count.
  void search(std::string_view words);
  void pick(std::string_view name);  // when it is there, now or with the next fill()

  std::size_t size() const { return rows_.size(); }
  std::size_t found() const { return found_.size(); }
  const Item* picked() const;

  // False for a key that does not move in a list.
  bool key(const Key& key);

  // The titles and below them as many rows as fit.
  void draw(Grid& grid, const Area& area);

 private:
  struct Row {
    Item item;
    std::string words;  // folded, once it was searched
  };
  const std::string& words_of(Row& row) const;
  bool fits(Row& row) const;
  void find(bool among_found);
  void pick_again();
  std::vector<int> widths(int columns) const;  // 0: does not show

  std::vector<Field> fields_;
  std::function<std::string(const Item&)> name_;
  std::function<Look(const Item&)> look_;
  std::vector<Row> rows_;
  std::vector<std::size_t> found_;   // of rows_
  std::vector<std::string> wanted_;  // folded
  std::string picked_;               // the name of it
  std::size_t at_ = 0;               // of found_
  std::size_t top_ = 0;              // the same
  std::size_t page_ = 1;             // rows that showed last
  std::size_t worded_ = 0;           // rows from the first on that prepare() has been at
};

}  // namespace stationer::admin::console
