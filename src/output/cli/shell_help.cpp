#include "output/cli/shell_help.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>

#include "output/cli/commands.hpp"
#include "output/cli/usage.hpp"
#include "platetally/machine.hpp"

namespace platetally::cli {

namespace {

/// The commands, and for a machine's name the machines that come with the program.
std::vector<CommandText> described(const Program& program) {
  std::vector<CommandText> commands = program.command_texts();
  for (CommandText& command : commands)
    for (OptionText& flag : command.flags)
      if (flag.value == "NAME|FILE")
        flag.words = embedded_machine_names();
  return commands;
}

/// Text in roff: dashes are minus signs, a backslash and a leading dot are text.
std::string roff(std::string_view text) {
  std::string out;
  for (const char c : text) {
    if (c == '\\')
      out += "\\e";
    else if (c == '-')
      out += "\\-";
    else
      out += c;
  }
  return out.starts_with('.') || out.starts_with('\'') ? "\\&" + out : out;
}

std::string in_man(const OptionText& flag) {
  std::vector<std::string> names;
  for (const std::string& name : flag.names)
    names.push_back(fmt::format("\\fB{}\\fR", roff(name)));
  return fmt::format(".TP\n{}{}\n{}\n", fmt::join(names, ", "),
                     flag.value.empty() ? "" : fmt::format(" \\fI{}\\fR", roff(flag.value)),
                     roff(flag.what));
}

/// Inside single quotes of a POSIX shell.
std::string in_quotes(std::string_view text) {
  std::string out = "'";
  for (const char c : text)
    out += c == '\'' ? std::string("'\\''") : std::string(1, c);
  return out + "'";
}

std::vector<std::string> names_of(const std::vector<OptionText>& flags) {
  std::vector<std::string> names;
  for (const OptionText& flag : flags)
    names.insert(names.end(), flag.names.begin(), flag.names.end());
  return names;
}

std::string bash(const std::vector<CommandText>& commands, const std::vector<OptionText>& program) {
  std::string out =
      "# bash completion of platetally, written by platetally --completion bash\n"
      "_platetally() {\n"
      "  local word=${COMP_WORDS[COMP_CWORD]} before=${COMP_WORDS[COMP_CWORD-1]} "
      "command=${COMP_WORDS[1]}\n"
      "  COMPREPLY=()\n"
      "  if [ \"$COMP_CWORD\" -eq 1 ]; then\n";
  std::vector<std::string> first = names_of(program);
  for (const CommandText& command : commands)
    first.push_back(command.name);
  out += fmt::format("    COMPREPLY=($(compgen -W {} -- \"$word\"))\n    return\n  fi\n",
                     in_quotes(fmt::format("{}", fmt::join(first, " "))));
  out += "  case $command in\n";
  for (const CommandText& command : commands) {
    out += fmt::format("    {})\n      case $before in\n", command.name);
    for (const OptionText& flag : command.flags) {
      if (flag.value.empty())
        continue;
      out += fmt::format("        {}) COMPREPLY=(", fmt::join(flag.names, "|"));
      if (!flag.words.empty())
        out += fmt::format("$(compgen -W {} -- \"$word\")",
                           in_quotes(fmt::format("{}", fmt::join(flag.words, " "))));
      if (flag.takes_file)
        out += fmt::format("{}$(compgen -f -- \"$word\")", flag.words.empty() ? "" : " ");
      out += "); return ;;\n";
    }
    out += fmt::format(
        "      esac\n      [[ $word == -* ]] && COMPREPLY=($(compgen -W {} -- \"$word\")) && "
        "return\n",
        in_quotes(fmt::format("{}", fmt::join(names_of(command.flags), " "))));
    std::vector<std::string> words;
    for (const OptionText& positional : command.positionals)
      words.insert(words.end(), positional.words.begin(), positional.words.end());
    if (!words.empty())
      out += fmt::format("      COMPREPLY=($(compgen -W {} -- \"$word\"))\n",
                         in_quotes(fmt::format("{}", fmt::join(words, " "))));
    out += "      COMPREPLY+=($(compgen -f -- \"$word\")) ;;\n";
  }
  return out + "  esac\n}\ncomplete -o filenames -F _platetally platetally\n";
}

/// In a zsh specification brackets and colons have a meaning.
std::string in_zsh(std::string_view text) {
  std::string out;
  for (const char c : text)
    out +=
        c == '[' || c == ']' || c == ':' || c == '\\' ? std::string("\\") + c : std::string(1, c);
  return out;
}

std::string zsh(const std::vector<CommandText>& commands, const std::vector<OptionText>& program) {
  std::string out =
      "#compdef platetally\n# zsh completion of platetally, written by platetally --completion "
      "zsh\n"
      "_platetally() {\n  local -a commands\n  commands=(\n";
  for (const CommandText& command : commands)
    out += fmt::format("    {}\n", in_quotes(in_zsh(command.name) + ":" + in_zsh(command.what)));
  out += "  )\n  if (( CURRENT == 2 )); then\n    _describe command commands\n";
  out += fmt::format("    compadd -- {}\n    return\n  fi\n  local command=$words[2]\n",
                     fmt::join(names_of(program), " "));
  out += "  shift words\n  (( CURRENT-- ))\n  case $command in\n";
  for (const CommandText& command : commands) {
    out += fmt::format("    {})\n      _arguments", command.name);
    for (const OptionText& flag : command.flags)
      for (const std::string& name : flag.names) {
        std::string spec = fmt::format("*{}[{}]", name, in_zsh(flag.what));
        if (!flag.value.empty() && flag.words.empty())
          spec += fmt::format(":{}:{}", in_zsh(flag.value), flag.takes_file ? "_files" : "");
        else if (!flag.value.empty()) {
          const std::string words = fmt::format("{}", fmt::join(flag.words, " "));
          spec += fmt::format(
              ":{}:{}", in_zsh(flag.value),
              flag.takes_file ? "{compadd -- " + words + "; _files}" : "(" + words + ")");
        }
        out += " \\\n        " + in_quotes(spec);
      }
    out += " \\\n        '*:file:_files' ;;\n";
  }
  return out + "  esac\n}\n_platetally \"$@\"\n";
}

std::string fish(const std::vector<CommandText>& commands, const std::vector<OptionText>& program) {
  const auto line = [](const OptionText& flag, const std::string& condition) {
    std::string out = fmt::format("complete -c platetally -n {}", in_quotes(condition));
    for (const std::string& name : flag.names)
      out += name.starts_with("--") ? " -l " + name.substr(2) : " -s " + name.substr(1);
    if (!flag.value.empty())
      out += flag.takes_file ? " -r -F" : " -x";
    if (!flag.words.empty())
      out += " -a " + in_quotes(fmt::format("{}", fmt::join(flag.words, " ")));
    return out + " -d " + in_quotes(flag.what) + "\n";
  };
  std::string out = "# fish completion of platetally, written by platetally --completion fish\n";
  for (const CommandText& command : commands)
    out += fmt::format("complete -c platetally -n __fish_use_subcommand -f -a {} -d {}\n",
                       command.name, in_quotes(command.what));
  for (const OptionText& flag : program)
    out += line(flag, "__fish_use_subcommand");
  for (const CommandText& command : commands)
    for (const OptionText& flag : command.flags)
      out += line(flag, "__fish_seen_subcommand_from " + command.name);
  return out;
}

}  // namespace

std::string man_page(const Program& program, const std::string& version) {
  const CommandText itself = program.text();
  std::string out = fmt::format(
      ".TH PLATETALLY 1 \"\" \"platetally {}\" \"User commands\"\n.SH NAME\nplatetally \\- "
      "{}\n"
      ".SH SYNOPSIS\n.B platetally\n\\fICOMMAND\\fR [\\fIOPTION\\fR]... [\\fIARGUMENT\\fR]...\n"
      ".SH DESCRIPTION\n{}\n",
      version, "tells what a sliced plate costs before it is printed", roff(itself.what));
  for (const OptionText& flag : itself.flags)
    out += in_man(flag);
  for (const CommandText& command : described(program)) {
    std::string heading = command.name;
    std::ranges::transform(heading, heading.begin(), [](char c) {
      return c >= 'a' && c <= 'z' ? static_cast<char>(c - 32) : c;
    });
    out += fmt::format(".SH {}\n\\fBplatetally {}\\fR: {}\n", heading, roff(command.name),
                       roff(command.what));
    for (const OptionText& positional : command.positionals)
      out += in_man(positional);
    for (const OptionText& flag : command.flags)
      out += in_man(flag);
  }
  return out +
         ".SH EXIT STATUS\n0: done; 1: done, and a plate does not pass (a limit, the verdict, what "
         "was left out); 2: bad usage, unreadable "
         "input, or output that cannot be written.\n.SH CAUTION\nPredictions, not measurements. A "
         "hot machine is attended; what feeds it follows the local electrical code and is a "
         "licensed electrician's work.\n";
}

std::string completion(const Program& program, const std::string& shell) {
  const std::vector<CommandText> commands = described(program);
  const std::vector<OptionText> flags = program.text().flags;
  if (shell == "bash")
    return bash(commands, flags);
  if (shell == "zsh")
    return zsh(commands, flags);
  if (shell == "fish")
    return fish(commands, flags);
  throw UsageError(fmt::format("--completion {}: expected bash, zsh or fish", shell));
}

}  // namespace platetally::cli
