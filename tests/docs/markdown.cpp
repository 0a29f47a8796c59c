#include "tests/docs/markdown.h"

#include <fmt/format.h>

#include <regex>
#include <sstream>

namespace rookery::test {
namespace {

constexpr std::size_t kLeastReason = 15;  // characters; shorter is no reason

// A line that begins as a command of this project's documentation would.
bool looks_like_a_command(const std::string& line) {
  static const std::regex command(
      R"(^\s*(\$ )?(rookery|curl|cmake|ctest|npm|npx|node|ffmpeg|ffprobe|printf|\./\w+|(scripts|bench|build)/\S+)( .*)?$)");
  return std::regex_match(line, command);
}

std::string trimmed(const std::string& text) {
  const auto first = text.find_first_not_of(" \t");
  if (first == std::string::npos) return {};
  return text.substr(first, text.find_last_not_of(" \t") - first + 1);
}

std::string comment_of(const std::string& line) {
  static const std::regex comment(R"(^<!--\s*(.*?)\s*-->$)");
  std::smatch found;
  return std::regex_match(line, found, comment) ? found[1].str() : std::string();
}

struct Page {
  std::vector<Block> blocks;
  std::vector<std::pair<std::size_t, std::string>> outside;  // lines that stand in no fence
};

Page read_page(std::string_view text) {
  Page page;
  std::istringstream in{std::string(text)};
  std::string line, above;
  bool inside = false;
  for (std::size_t number = 1; std::getline(in, line); ++number) {
    if (trimmed(line).starts_with("```")) {
      inside = !inside;
      if (inside) {
        Block block;
        block.line = number;
        block.language = trimmed(trimmed(line).substr(3));
        block.mark = comment_of(above);
        page.blocks.push_back(std::move(block));
      }
    } else if (inside) {
      page.blocks.back().lines.push_back(line);
    } else {
      page.outside.emplace_back(number, line);
    }
    above = trimmed(line);
  }
  return page;
}

void judge_shell(const Block& block, std::vector<std::string>& found) {
  if (!block.mark.empty()) {
    const std::string reason = block.marked("not run");
    if (reason.empty() && block.marked("given").empty()) {
      found.push_back(fmt::format("line {}: \"{}\" is no mark; write \"not run: WHY\" or \"given: WHAT\"",
                                  block.line, block.mark));
    } else if (block.marked("given").empty() && reason.size() < kLeastReason) {
      found.push_back(
          fmt::format("line {}: \"{}\" is no reason for not running a command", block.line, reason));
    }
  }
  for (const std::string& line : block.lines) {
    if (line.find("curl ") != std::string::npos && line.find("--fail") == std::string::npos)
      found.push_back(fmt::format("line {}: curl without --fail takes an error for an answer", block.line));
  }
}

}  // namespace

std::string Block::marked(std::string_view word) const {
  const std::string begin = std::string(word) + ":";
  return mark.starts_with(begin) ? trimmed(mark.substr(begin.size())) : std::string();
}

std::vector<Block> read_blocks(std::string_view page) { return read_page(page).blocks; }

std::vector<std::string> find_unrunnable(std::string_view text) {
  const Page page = read_page(text);
  std::vector<std::string> found;
  for (const Block& block : page.blocks) {
    if (block.is_shell()) {
      judge_shell(block, found);
      continue;
    }
    for (const std::string& line : block.lines) {
      if (looks_like_a_command(line))
        found.push_back(
            fmt::format("line {}: \"{}\" stands in a fence that is not \"sh\"", block.line, trimmed(line)));
    }
  }
  for (const auto& [number, line] : page.outside) {
    if (line.starts_with("    ") && looks_like_a_command(line))
      found.push_back(
          fmt::format("line {}: \"{}\" is indented; write it into a \"sh\" fence", number, trimmed(line)));
  }
  return found;
}

}  // namespace rookery::test
