"""Drawing a map: where places come to lie on the sheet, which marks merge, which labels have room."""
