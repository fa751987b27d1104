package main

const someDrive = `E:\`

func howToEject(string) (how, command string) {
	return "click on the sign for removing hardware in the task bar and choose it.", ""
}
