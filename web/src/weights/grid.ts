/** The grid itself, put together from the parts that are used: virtual rows, editors, selection, tooltips. */
import {
  CellApiModule,
  CellStyleModule,
  CheckboxEditorModule,
  ClientSideRowModelApiModule,
  ClientSideRowModelModule,
  ColumnApiModule,
  createGrid,
  RenderApiModule,
  RowApiModule,
  RowSelectionModule,
  RowStyleModule,
  ScrollApiModule,
  SelectEditorModule,
  TextEditorModule,
  TooltipModule,
  type CellClassParams,
  type ColDef,
  type EditableCallbackParams,
  type GridApi,
  type GridOptions,
  type ICellEditorParams,
  type ICellRendererParams,
  type ITooltipParams,
  type Module,
  type SuppressKeyboardEventParams,
  type ValueGetterParams,
} from "ag-grid-community";
import type { Cell, WeightRow } from "../frame/shapes";
import type { Column, ColumnAbout } from "./columns";
import { gridTheme } from "./grid-theme";
import { adviceText, isRow, typable } from "./rows";

export type Grid = GridApi<WeightRow>;

const MODULES: Module[] = [
  CellApiModule,
  CellStyleModule,
  CheckboxEditorModule,
  ClientSideRowModelApiModule,
  ClientSideRowModelModule,
  ColumnApiModule,
  RenderApiModule,
  RowApiModule,
  RowSelectionModule,
  RowStyleModule,
  ScrollApiModule,
  SelectEditorModule,
  TextEditorModule,
  TooltipModule,
];

export interface GridWork {
  columns: ColumnAbout[];
  choices: (row: WeightRow, column: Column) => string[];
  /** What was typed and is on its way, by `key column`; shown until the list says it too. */
  typed: (key: string, column: Column) => string | undefined;
  /** Of the list as it is shown now. */
  revision: () => number;
  /** `row` and `revision` are what the builder saw when typing began. */
  edit: (row: WeightRow, column: Column, text: string, revision: number) => void;
  focused: (key: string, column: Column | null) => void;
  selected: (rows: WeightRow[]) => void;
  sorted: (sorted: boolean) => void;
}

export function openGrid(element: HTMLElement, rows: WeightRow[], work: GridWork): Grid {
  const thumb = window.matchMedia("(pointer: coarse)").matches;
  let seen: { row: WeightRow; revision: number } | null = null;
  const options: GridOptions<WeightRow> = {
    theme: gridTheme(thumb),
    themeStyleContainer: document.head,
    rowData: rows,
    columnDefs: [...work.columns.map((about) => column(about, work)), ...results()],
    defaultColDef: {
      resizable: true,
      sortable: false,
      suppressHeaderMenuButton: true,
      suppressMovable: true,
      suppressKeyboardEvent: isPageKey,
    },
    getRowId: ({ data }) => data.key,
    // The list comes back from the server with every edit; the grid itself changes nothing.
    readOnlyEdit: true,
    onCellEditingStarted: ({ data }) => {
      seen = data ? { row: data, revision: work.revision() } : null;
    },
    onCellEditRequest: ({ data, colDef, newValue }) => {
      const before = seen?.row.key === data.key ? seen : { row: data, revision: work.revision() };
      work.edit(before.row, colDef.colId as Column, asText(newValue), before.revision);
    },
    onCellEditingStopped: () => {
      seen = null;
    },
    rowSelection: {
      mode: "multiRow",
      checkboxes: true,
      headerCheckbox: true,
      enableClickSelection: false,
      isRowSelectable: ({ data }) => data !== undefined && isRow(data),
    },
    selectionColumnDef: { pinned: "left", width: 48, resizable: false, suppressHeaderMenuButton: true },
    onSelectionChanged: ({ api }) => work.selected(api.getSelectedRows()),
    onCellFocused: ({ api, rowIndex, column: at }) => {
      const row = rowIndex === null ? undefined : api.getDisplayedRowAtIndex(rowIndex)?.data;
      const id = typeof at === "object" && at !== null ? at.getColId() : null;
      if (row) work.focused(row.key, work.columns.some((one) => one.column === id) ? (id as Column) : null);
    },
    onSortChanged: ({ api }) => work.sorted(api.getColumnState().some((one) => Boolean(one.sort))),
    stopEditingWhenCellsLoseFocus: true,
    enterNavigatesVerticallyAfterEdit: true,
    rowClassRules: {
      "from-trim": ({ data }) => data?.from_trim ?? false,
      "hull-row": ({ data }) => data?.table === "skin",
    },
    tooltipShowDelay: 300,
    tooltipShowMode: "standard",
    icons: {
      sortAscending: '<span class="sorted" aria-hidden="true">↑</span>',
      sortDescending: '<span class="sorted" aria-hidden="true">↓</span>',
    },
    overlayNoRowsTemplate: '<span class="quiet">No row fits the filter.</span>',
    animateRows: false,
    suppressCellFocus: false,
    ensureDomOrder: true,
    getAriaLabel: undefined,
  } as GridOptions<WeightRow>;
  return createGrid(element, options, { modules: MODULES });
}

/** Keys of the page, and Delete while rows are ticked: the grid would type them into the cell, or clear it. */
function isPageKey({ api, editing, event }: SuppressKeyboardEventParams<WeightRow>): boolean {
  if (editing) return false;
  return (
    ["/", "?", "F8"].includes(event.key) || (event.key === "Delete" && api.getSelectedNodes().length > 0)
  );
}

function column(about: ColumnAbout, work: GridWork): ColDef<WeightRow> {
  const id = about.column;
  const cellOf = (row: WeightRow | undefined): Cell | undefined => row?.cells[id];
  const value = ({ data }: ValueGetterParams<WeightRow>) => {
    if (!data) return "";
    return work.typed(data.key, id) ?? cellOf(data)?.text ?? "";
  };
  const common: ColDef<WeightRow> = {
    colId: id,
    headerName: about.heading,
    headerTooltip: about.about,
    width: about.width,
    valueGetter: value,
    editable: ({ data }: EditableCallbackParams<WeightRow>) => data !== undefined && typable(data, id),
    cellClass: about.figure ? "figure" : "",
    headerClass: about.figure ? "figure" : "",
    cellClassRules: {
      fault: ({ data }: CellClassParams<WeightRow>) => (cellOf(data)?.advice ?? []).length > 0,
      going: ({ data }: CellClassParams<WeightRow>) =>
        data !== undefined && work.typed(data.key, id) !== undefined,
      closed: ({ data }: CellClassParams<WeightRow>) => data !== undefined && !typable(data, id),
    },
    tooltipValueGetter: ({ data }: ITooltipParams<WeightRow>) =>
      adviceText(cellOf(data)?.advice ?? []) || null,
    sortable: true,
    comparator: (a: string, b: string, first, second, descending) =>
      about.figure
        ? bySize(orderOf(first.data, id), orderOf(second.data, id), descending)
        : String(a).localeCompare(String(b)),
    ...(id === "name" ? { pinned: "left" as const } : {}),
  };
  if (about.typing === "tick") {
    return {
      ...common,
      cellDataType: false,
      valueGetter: (params) => value(params) === "yes",
      cellRenderer: "agCheckboxCellRenderer",
      cellRendererParams: ({ data }: ICellRendererParams<WeightRow>) => ({
        disabled: !data || !typable(data, id),
      }),
      cellEditor: "agCheckboxCellEditor",
    };
  }
  return {
    ...common,
    cellRenderer: ({ data, value: shown }: ICellRendererParams<WeightRow>) =>
      drawn(String(shown ?? ""), cellOf(data), {
        fromTrim: id === "name" && (data?.from_trim ?? false),
        figure: about.figure,
      }),
    ...(about.typing === "choice"
      ? {
          cellEditor: "agSelectCellEditor",
          valueFormatter: ({ value: word }) => (word === "" ? "–" : String(word)),
          cellEditorParams: ({ data }: ICellEditorParams<WeightRow>) => ({
            values: work.choices(data, id),
            valueListGap: 2,
          }),
        }
      : { cellEditor: "agTextCellEditor" }),
  };
}

/** What follows from the list: read, not typed. */
function results(): ColDef<WeightRow>[] {
  return [
    {
      colId: "share",
      headerName: "Of total",
      headerTooltip: "Of the total mass.",
      headerClass: "figure",
      cellClass: "figure result",
      width: 96,
      valueGetter: ({ data }) => data?.share ?? "",
      sortable: true,
      comparator: (_a, _b, first, second, descending) =>
        bySize(first.data?.mass.value ?? null, second.data?.mass.value ?? null, descending),
    },
    {
      colId: "matters",
      headerName: "Its doubt",
      headerTooltip: "How much of the doubt of the result comes from it.",
      cellClass: "result",
      width: 280,
      valueGetter: ({ data }) => data?.matters ?? "",
      tooltipValueGetter: ({ data }) => data?.matters || null,
    },
  ];
}

/** A mass counts as it does in the figures, so that one that follows from a volume has its place too. */
function orderOf(row: WeightRow | undefined, column: Column): number | null {
  const typed = row?.cells[column]?.order ?? null;
  return column === "mass" ? (typed ?? row?.mass.value ?? null) : typed;
}

/** Smallest first; what has no size comes last, whichever way the column is sorted. */
export function bySize(first: number | null, second: number | null, descending: boolean): number {
  if (first !== null && second !== null) return first - second;
  if (first === second) return 0;
  return (first === null) !== descending ? 1 : -1;
}

/** The cell's text with its marks; what a mark says is also there for a screen reader. */
export function drawn(
  text: string,
  cell: Cell | undefined,
  { fromTrim = false, figure = false }: { fromTrim?: boolean; figure?: boolean } = {},
): HTMLElement {
  const whole = document.createElement("span");
  whole.className = "drawn";
  const advice = cell?.advice ?? [];
  if (advice.length > 0) whole.append(piece("span", "mark", "!", true));
  if (text !== "") whole.append(piece("span", "words", text));
  else if (cell?.assumed) {
    // The cell shows the figure; where it comes from stands in the line below the grid and is read out.
    const [first = "", ...why] = cell.assumed.split(", ");
    if (figure && !/\d/.test(first)) {
      whole.append(piece("span", "assumed", "–", true), piece("span", "unseen", cell.assumed));
      return whole;
    }
    whole.append(piece("span", "assumed", first));
    whole.append(piece("span", "unseen", ` (assumed${why.length > 0 ? `: ${why.join(", ")}` : ""})`));
  }
  if (fromTrim) whole.append(piece("span", "tag", "trim"));
  if (advice.length > 0) whole.append(piece("span", "unseen", `. To put right: ${adviceText(advice)}`));
  return whole;
}

function piece(tag: "span", name: string, text: string, silent = false): HTMLElement {
  const element = document.createElement(tag);
  element.className = name;
  element.textContent = text;
  if (silent) element.setAttribute("aria-hidden", "true");
  return element;
}

function asText(value: unknown): string {
  if (typeof value === "boolean") return value ? "yes" : "no";
  return String(value ?? "").trim();
}
