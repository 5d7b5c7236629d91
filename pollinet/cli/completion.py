"""`pollinet completion`: the script that lets a shell complete commands, options, plans and ids.

Click writes the scripts and finds the words. It is shown our table of commands as one group,
whose members are loaded only when something of theirs is to be completed.
"""

from __future__ import annotations

import sys

import click
from click.shell_completion import CompletionItem, get_completion_class

from pollinet.cli import COMMANDS, COMPLETION, load

SHELLS = ("bash", "zsh", "fish")


class _Table(click.Group):
    """The table of commands as a group."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        return load(cmd_name) if cmd_name in COMMANDS else None

    def shell_complete(self, ctx: click.Context, incomplete: str) -> list[CompletionItem]:
        """Names and lines of the table: nothing is loaded for these."""
        found = [
            CompletionItem(name, help=line)
            for name, line in COMMANDS.items()
            if name.startswith(incomplete)
        ]
        options = [word for word in ("--help", "--version") if word.startswith(incomplete)]
        return found + [CompletionItem(word) for word in options if incomplete]


def _shell(name: str) -> click.shell_completion.ShellComplete:
    found = get_completion_class(name)
    assert found is not None
    return found(_Table("pollinet"), {}, "pollinet", COMPLETION)


def answer(instruction: str) -> int:
    """Answer a shell's question for words, as the scripts ask it: `bash_complete`, ….

    What is typed and where the cursor stands are read from `COMP_WORDS` and `COMP_CWORD`.
    """
    shell, _, action = instruction.partition("_")
    if shell not in SHELLS or action != "complete":
        print(f"pollinet: {COMPLETION} is set to {instruction}, which is no shell", file=sys.stderr)
        return 2
    print(_shell(shell).complete())
    return 0


def script(shell: str) -> str:
    """The text that a shell has to read once in each session."""
    kind = _shell(shell)
    return kind.source_template % kind.source_vars()


@click.command(
    epilog="Example: pollinet completion bash. To keep it: pollinet completion bash >> ~/.bashrc; "
    "pollinet completion zsh >> ~/.zshrc; pollinet completion fish > "
    "~/.config/fish/completions/pollinet.fish. It asks the installed program at each Tab, and "
    "reads the plan that stands on the line for ids of limbs. bash: 4.4 or newer."
)
@click.argument("shell", type=click.Choice(SHELLS))
def completion(shell: str) -> int:
    """Print the script that lets a shell complete commands, options, plan files and limb ids."""
    print(script(shell))
    return 0
