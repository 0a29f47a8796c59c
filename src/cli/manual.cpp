#include "cli/manual.h"

#include <fmt/format.h>

namespace rookery::cli {
namespace {

// Text as roff takes it: hyphens that are typed, no line that begins with a request.
std::string roff(const std::string& text) {
  std::string out;
  for (char c : text) {
    if (c == '-') {
      out += "\\-";
    } else if (c == '\\') {
      out += "\\e";
    } else {
      out += c;
    }
  }
  if (!out.empty() && (out.front() == '.' || out.front() == '\'')) out.insert(0, "\\&");
  return out;
}

void write_options(const CLI::App& command, std::string& out) {
  for (const CLI::Option* option : command.get_options()) {
    if (option->get_name() == "--help" || option->get_group().empty()) continue;
    std::string head =
        option->get_positional() ? option->get_name(true, true) : option->get_name(false, true);
    if (!option->get_type_name().empty() && !option->get_positional()) head += " " + option->get_type_name();
    out += fmt::format(".TP\n\\fB{}\\fR\n{}\n", roff(head), roff(option->get_description()));
    if (!option->get_default_str().empty() && option->get_name() != "--home") {
      out += fmt::format("Default: {}.\n", roff(option->get_default_str()));
    }
  }
}

void write_command(const CLI::App& command, const std::string& prefix, std::string& out) {
  const std::string name = prefix + " " + command.get_name();
  std::string places;
  for (const CLI::Option* option : command.get_options()) {
    if (option->get_positional()) places += " " + option->get_name(true, true);
  }
  out += fmt::format(".SS \"{}{}\"\n{}\n", roff(name), roff(places), roff(command.get_description()));
  write_options(command, out);
  for (const CLI::App* sub : command.get_subcommands([](const CLI::App*) { return true; }))
    write_command(*sub, name, out);
}

}  // namespace

std::string manual_page(const CLI::App& app, const std::string& version) {
  std::string out = fmt::format(
      ".TH ROOKERY 1 \"\" \"rookery {}\" \"User commands\"\n.SH NAME\nrookery \\- {}\n.SH SYNOPSIS\n.B "
      "rookery\n"
      ".I VERB\n[\\fIARGS\\fR] [\\fB\\-\\-json\\fR]\n.SH COMMANDS\n",
      version, roff("the tool for people who build their own Wi-Fi cameras"));
  for (const CLI::App* command : app.get_subcommands([](const CLI::App*) { return true; })) {
    write_command(*command, "rookery", out);
  }
  out +=
      ".SH EXIT STATUS\n.TP\n0\ndone\n.TP\n1\nthe check failed: damaged, unfit\n.TP\n2\nbad use: a wrong "
      "word or value\n"
      ".TP\n3\ncould not: network, disk, someone else holds it, interrupted\n"
      ".SH HOME\nWhat a station knows and records is in its home folder. \\fBserve\\fR, \\fBdemo\\fR, "
      "\\fBcamera "
      "add\\fR and \\fBperson add\\fR make a home that is not there; \\fBarchive rebuild\\fR makes a lost "
      "catalog from the recordings. Every other command stops with status 2 where there is no home, and "
      "makes nothing.\n"
      ".SH FILES\n.TP\n\\fIHOME/rookery.toml\\fR\nsettings of the "
      "station\n.TP\n\\fIHOME/catalog.db\\fR\ncameras, people, "
      "segments, strips\n.TP\n\\fIHOME/archive/CAMERA/DATE/TIME.mkv\\fR\nrecordings, Matroska with the "
      "camera's own JPEG "
      "frames\n.SH ENVIRONMENT\n.TP\nROOKERY_HOME\nthe home folder when \\-\\-home is not given\n";
  return out;
}

}  // namespace rookery::cli
