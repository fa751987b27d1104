# bash completion of pushcue
_pushcue() {
	local current="${COMP_WORDS[COMP_CWORD]}" before=("${COMP_WORDS[@]:1:COMP_CWORD-1}") known
	[[ $current != -* ]] || before+=("$current")
	mapfile -t known < <(pushcue "${before[@]}" --generate-bash-completion 2>/dev/null)
	mapfile -t COMPREPLY < <(compgen -W "${known[*]%%:*}" -- "$current")
}
complete -o default -F _pushcue pushcue
