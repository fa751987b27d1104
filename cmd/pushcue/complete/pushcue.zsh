#compdef pushcue
# zsh completion of pushcue
_pushcue() {
	local -a before known
	before=("${(@)words[2,CURRENT-1]}")
	[[ $words[CURRENT] != -* ]] || before+=("$words[CURRENT]")
	known=("${(@f)$(pushcue "${before[@]}" --generate-bash-completion 2>/dev/null)}")
	if [[ -n "${known[1]}" ]]; then
		_describe 'pushcue' known
	else
		_files
	fi
}
if [[ $funcstack[1] == _pushcue ]]; then
	_pushcue "$@"
else
	compdef _pushcue pushcue
fi
