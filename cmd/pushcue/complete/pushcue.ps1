# PowerShell completion of pushcue
Register-ArgumentCompleter -Native -CommandName pushcue -ScriptBlock {
	param($word, $line, $cursor)
	$before = @($line.CommandElements | Select-Object -Skip 1 | ForEach-Object { "$_" })
	if ($word -ne '' -and $before.Count -gt 0) { $before = @($before | Select-Object -SkipLast 1) }
	if ($word -like '-*') { $before += $word }
	& pushcue @before --generate-bash-completion 2>$null | Where-Object { $_ -like "$word*" } | ForEach-Object {
		[System.Management.Automation.CompletionResult]::new($_, $_, 'ParameterValue', $_)
	}
}
