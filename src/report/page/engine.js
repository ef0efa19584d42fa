// The parts of the drawing library that the charts need, and no more: the rest is left out of the bundle.
import * as echarts from 'echarts/core';
import {LineChart, SankeyChart, CustomChart} from 'echarts/charts';
import {GridComponent, TooltipComponent, GraphicComponent, AxisPointerComponent} from 'echarts/components';
import {LabelLayout} from 'echarts/features';
import {SVGRenderer} from 'echarts/renderers';

echarts.use([LineChart, SankeyChart, CustomChart, GridComponent, TooltipComponent, GraphicComponent, AxisPointerComponent,
  LabelLayout, SVGRenderer]);

export {echarts};
