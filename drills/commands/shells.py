"""Completion for the shells: a few lines each, which ask the program what could stand."""

from __future__ import annotations

BASH = """\
# Completion of crosspour for bash. Put this into ~/.bashrc:
#     eval "$(crosspour completion bash)"
_crosspour() {
    local offer file
    local -a typed=("${COMP_WORDS[@]:1:COMP_CWORD}")
    COMPREPLY=()
    while IFS=$'\\t' read -r offer _; do
        if [[ $offer == ":files" ]]; then
            compopt -o filenames 2>/dev/null
            while IFS= read -r file; do
                COMPREPLY+=("$file")
            done < <(compgen -f -- "${COMP_WORDS[COMP_CWORD]}")
        else
            COMPREPLY+=("$offer")
        fi
    done < <("$1" completion offers "${typed[@]/#/=}" 2>/dev/null)
}
complete -F _crosspour crosspour
"""

ZSH = """\
#compdef crosspour
# Completion of crosspour for zsh. Put this into ~/.zshrc, below compinit:
#     eval "$(crosspour completion zsh)"
_crosspour() {
    local line
    local -a typed found told
    typed=("${(@)words[2,CURRENT]}")
    for line in "${(@f)$("${words[1]}" completion offers "${(@)typed/#/=}" 2>/dev/null)}"; do
        if [[ $line == ":files" ]]; then
            _files
        elif [[ -n $line ]]; then
            found+=("${line%%$'\\t'*}")
            told+=("${line/$'\\t'/  }")
        fi
    done
    (( ${#found} )) && compadd -U -l -d told -a found
}
compdef _crosspour crosspour
"""

FISH = """\
# Completion of crosspour for fish. Put this into ~/.config/fish/config.fish:
#     crosspour completion fish | source
function __crosspour_offers
    set -l typed (commandline -opc)
    set -l begun (commandline -ct)
    for line in ($typed[1] completion offers "="$typed[2..-1] "=$begun" 2>/dev/null)
        if test "$line" = ":files"
            __fish_complete_path (commandline -ct)
        else
            echo $line
        end
    end
end
complete -c crosspour -f -a '(__crosspour_offers)'
"""

SCRIPTS = {"bash": BASH, "zsh": ZSH, "fish": FISH}
