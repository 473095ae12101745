from tui.entry import main

main()
