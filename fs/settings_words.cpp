#include "fs/settings_words.h"

#include <algorithm>
#include <stdexcept>

#include <fmt/format.h>

namespace stationer::fs {
namespace {

template <class Entry, class Name>
const Entry& find(const std::vector<Entry>& all, Name Entry::*name, std::string_view wanted) {
  const auto found =
      std::find_if(all.begin(), all.end(), [&](const Entry& each) { return each.*name == wanted; });
  if (found == all.end()) throw std::logic_error(fmt::format("no words for {}", wanted));
  return *found;
}

}  // namespace

std::vector<TableWords> settings_words() {
  return {
      {"volume",
       "What the volume is. Only the name is meant to be changed.",
       {
           {"format", "a number", "", "the format of the whole volume, written when it is made",
            "A program that is older than the volume leaves it alone."},
           {"name", "a text", "\"Stationer\"", "what the room is called",
            "It greets at terminals, and stands on slips, cards and reports.",
            "\"Tidewrack Mill\""},
           {"created", "a time", "", "when the volume was made, in UTC"},
       }},
      {"limits",
       "How much may be kept. account quota and class quota set it for single accounts and for a "
       "class; what is here is for accounts that are added from then on, but for reserve_mib and "
       "grace_days, which are for all.",
       {
           {"reserve_mib", "0..1099511627776 MiB", "64", "disk kept free for the keeper",
            "When less is free, only the keeper can still save. Raise it where other programs "
            "need the same disk."},
           {"account_mib", "0..1099511627776 MiB", "64",
            "what a new account may keep before it is warned; 0 is no limit",
            "A quarter more is where saving ends. Lower it when the disk is small and the "
            "classes are large."},
           {"account_files", "0..1000000000", "2000", "how many files and folders, likewise",
            "It keeps a program that runs wild from filling the volume with empty files."},
           {"grace_days", "0..3660 days", "7",
            "how long an account may be over that, by a quarter at most", "0: not at all."},
       }},
      {"history",
       "What is kept of what was removed and replaced, so that people can have it back. When the "
       "disk is short the oldest of it goes first, but nothing of the last 24 hours.",
       {
           {"days", "0..36500 days", "90",
            "how long removed and replaced files are kept; 0 is for ever",
            "Raise it to have a whole term at hand."},
           {"versions", "0..1000000", "20",
            "how many former contents of one file; 0 is all of them"},
           {"account_mib", "0..1099511627776 MiB", "64",
            "what one account's history may take; 0 is no limit",
            "It does not count as what the account keeps."},
       }},
      {"journal",
       "Who did what. Entries that fall off are gone; the journal says that it was shortened.",
       {
           {"entries", "0..1000000000", "100000", "the newest that are kept; 0 is no limit"},
           {"days", "0..36500 days", "400", "how long entries are kept; 0 is no limit",
            "Lower it where the rules of your house say that such records have to go sooner."},
       }},
      {"adoption",
       "What the keeper does in files/ with the host's own tools.",
       {
           {"watch", "true|false", "true",
            "notice at once what you do in files/; else only at the start",
            "false spares a box with very many folders; stationer adopt looks when you say so."},
       }},
      {"snapshots",
       "Snapshots that the service takes by itself. The newest is always kept.",
       {
           {"folder", "a whole path on the host", "\"\"",
            "where they go; \"\" is in the volume. Another disk is better",
            "The service's user has to be able to write there.", "\"/mnt/second\""},
           {"daily_at", "a time of day", "\"03:00\"", "when, by the box's own clock; \"\" is never",
            "A box that was off then takes one when it is on again.", "\"12:30\""},
           {"days", "0..1000", "7", "of so many days the last snapshot is kept"},
           {"weeks", "0..1000", "4", "of so many weeks, likewise"},
           {"months", "0..1000", "12", "of so many months, likewise",
            "Lower them when the disk fills; a snapshot is about as large as the volume."},
       }},
      {"visitors",
       "Accounts for open days: whoever sits down signs on without a password where a door or a "
       "serial line says so by sign_on.",
       {
           {"accounts", "a list of members' names", "[]",
            "the accounts that nobody needs a password for", "They may not lead a class or manage.",
            "[\"visitor\"]"},
           {"tidy_at", "a time of day", "\"22:00\"",
            "when what visitors left is taken away, by the box's own clock; \"\" is never",
            "Their folder, their bin and their notices are emptied; printouts go to those that "
            "nobody has claimed.",
            "\"18:00\""},
       }},
  };
}

const TableWords& table_words(const std::vector<TableWords>& tables, std::string_view name) {
  return find(tables, &TableWords::name, name);
}

std::string write_settings(const TableWords& table, const ChosenSettings& settings) {
  std::vector<std::pair<std::string, std::string_view>> lines;
  std::size_t widest = 0;
  for (const auto& [key, value] : settings) {
    const SettingWords& words = find(table.settings, &SettingWords::key, key);
    lines.emplace_back(fmt::format("{} = {}", key, value.empty() ? words.otherwise : value),
                       words.remark);
    widest = std::max(widest, lines.back().first.size());
  }
  std::string out = fmt::format("[{}]\n", table.name);
  for (const auto& [line, remark] : lines) {
    out += remark.empty() ? line + '\n' : fmt::format("{:<{}}  # {}\n", line, widest, remark);
  }
  return out;
}

}  // namespace stationer::fs
